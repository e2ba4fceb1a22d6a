"""All settings, from the environment (.env.example names each). What is missing and needed is said at start, not at midnight."""

import os
import secrets
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured
from django.utils.csp import CSP

from workshop import database

BASE_DIR = Path(__file__).resolve().parent.parent


def env(name: str, default: str = "") -> str:
    """A setting's text."""
    return os.environ.get(name, default).strip()


def env_flag(name: str) -> bool:
    """A yes or no. Anything but 1, true, yes, 0, false, no or nothing is refused."""
    text = env(name).lower()
    if text not in {"", "0", "false", "no", "1", "true", "yes"}:
        raise ImproperlyConfigured(f"{name} is yes or no, not {text!r}.")
    return text in {"1", "true", "yes"}


DEMO = env_flag("HARDSTAND_DEMO")
TEST = env_flag("HARDSTAND_TEST")
DEBUG = env_flag("HARDSTAND_DEBUG")
DATA_DIR = BASE_DIR / "var/demo" if DEMO else Path(env("HARDSTAND_DATA", str(BASE_DIR / ("var/test" if TEST else "var/data"))))
if DEMO and (elsewhere := env("HARDSTAND_DEMO_DATA")):
    DATA_DIR = Path(elsewhere) / "hardstand-demo"  # a folder of its own: the demo throws its data away without asking
DATA_DIR.mkdir(parents=True, exist_ok=True, mode=0o700)
FILES_ROOT = DATA_DIR / "files"


def secret_key() -> str:
    """The key that signs sessions and links. The demo keeps one of its own; real use must bring one."""
    if key := env("HARDSTAND_SECRET_KEY"):
        return key
    if TEST:
        return "a key for tests only, long enough to satisfy the deployment check 0123456789"
    if not DEMO:
        raise ImproperlyConfigured(
            "HARDSTAND_SECRET_KEY is missing. Set it to 50 or more random characters and keep it: it signs every link you send. "
            "To look around without one: python3 manage.py demo"
        )
    kept = DATA_DIR / "secret"
    if not kept.exists():
        kept.write_text(secrets.token_urlsafe(50))
        kept.chmod(0o600)
    return kept.read_text()


SECRET_KEY = secret_key()
_local = DEMO or TEST
ALLOWED_HOSTS = env("HARDSTAND_HOSTS").replace(",", " ").split() or (["127.0.0.1", "localhost", "testserver"] if _local else [])
SITE_URL = env("HARDSTAND_URL", "http://127.0.0.1:8000" if _local else "").rstrip("/")
if not _local and not (ALLOWED_HOSTS and SITE_URL):
    raise ImproperlyConfigured(
        "HARDSTAND_HOSTS (the name of this server) and HARDSTAND_URL (https://that-name) are missing: links are built from them."
    )

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django_htmx",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "workshop.staff",
    "workshop.files",
    "workshop.pages",
    "workshop.history",
    "workshop.links",
    "workshop.photos",
    "workshop.outbox",
    "workshop.company",
    "workshop.letters",
    "workshop.customers",
    "workshop.ledger",
    "workshop.vehicles",
    "workshop.catalogue",
    "workshop.specifications",
    "workshop.jobs",
    "workshop.inspections",
    "workshop.worksheets",
    "workshop.scheduling",
    "workshop.rounds",
    "workshop.quotes",
    "workshop.invoices",
    "workshop.bookkeeping",
    "workshop.book",
    "workshop.driveway",
    "workshop.today",
    "workshop.upkeep",
    "workshop.demo",
]

MIDDLEWARE = [
    "workshop.upkeep.health.healthz",  # first: whoever asks it from this machine names no host of ours and speaks no TLS
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.csp.ContentSecurityPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "workshop.pages.middleware.calm_faults",
]

ROOT_URLCONF = "workshop.urls"
WSGI_APPLICATION = "workshop.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "django.template.context_processors.csp",
                "workshop.pages.context.page",
                "workshop.company.context.taxed",
            ],
        },
    }
]

SQLITE_VERSION = database.prefer_current_sqlite()
DATABASE_URL = "" if DEMO else env("DATABASE_URL")
DATABASES = {
    "default": database.postgresql(DATABASE_URL) if DATABASE_URL else database.sqlite(DATA_DIR / "hardstand.sqlite3", SQLITE_VERSION)
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "staff.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 15}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
if TEST:
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
ACCOUNT_ADAPTER = "workshop.staff.adapter.ClosedDoor"
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_SESSION_REMEMBER = True  # a phone in a yard must not ask for a password after every restart
ACCOUNT_LOGOUT_ON_GET = False
MFA_ADAPTER = "workshop.staff.adapter.Keys"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = _local
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "/accounts/login/"
SESSION_COOKIE_AGE = 60 * 60 * 24 * 90  # a phone in a yard stays signed in for a season; the owner ends all sign-ins with a new password
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_FAILURE_VIEW = "workshop.pages.errors.csrf_failure"

SECURE_CSP = {
    "default-src": [CSP.NONE],
    "script-src": [CSP.SELF],
    "style-src": [CSP.SELF, CSP.NONCE],
    "img-src": [CSP.SELF, "blob:", "data:"],
    "media-src": [CSP.SELF],
    "connect-src": [CSP.SELF],
    "manifest-src": [CSP.SELF],
    "worker-src": [CSP.SELF],
    "form-action": [CSP.SELF],
    "base-uri": [CSP.NONE],
    "frame-ancestors": [CSP.NONE],
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CONTENT_TYPE_NOSNIFF = True
_tls = not _local and not DEBUG
SECURE_SSL_REDIRECT = _tls
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if _tls else 0
# Other servers under the same name are not ours to bind: subdomains and preload stay the owner's choice at the proxy.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = _tls
BEHIND_PROXY = env_flag("HARDSTAND_BEHIND_PROXY")
ALLAUTH_TRUSTED_PROXY_COUNT = int(BEHIND_PROXY)  # whose address is counted and kept as evidence
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
CSRF_TRUSTED_ORIGINS = [SITE_URL] if SITE_URL.startswith("https://") else []

LANGUAGE_CODE = "en"
LANGUAGES = [("en", "English")]
LOCALE_PATHS = [BASE_DIR / "locale"]
TIME_ZONE = env("HARDSTAND_TIME_ZONE", "Europe/Vienna" if _local else "UTC")
USE_TZ = True
USE_I18N = True
FORMAT_MODULE_PATH = None

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if _local or DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = _local or DEBUG
DATA_UPLOAD_MAX_MEMORY_SIZE = 30 * 1024 * 1024  # a picture may have 25 MB
FILE_UPLOAD_HANDLERS = [
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]

DEFAULT_FROM_EMAIL = env("HARDSTAND_MAIL_FROM", "hardstand@localhost")
MAIL_BY_SERVER = {
    "BACKEND": "django.core.mail.backends.smtp.EmailBackend",
    "OPTIONS": {
        "host": env("HARDSTAND_MAIL_HOST", "localhost"),
        "port": int(env("HARDSTAND_MAIL_PORT", "587" if env("HARDSTAND_MAIL_USER") else "25")),
        "username": env("HARDSTAND_MAIL_USER"),
        "password": env("HARDSTAND_MAIL_PASSWORD"),
        "use_tls": bool(env("HARDSTAND_MAIL_USER")),
        "timeout": 20,
    },
}
MAIL_INTO_FOLDER = {"BACKEND": "django.core.mail.backends.filebased.EmailBackend", "OPTIONS": {"file_path": str(DATA_DIR / "mail")}}
MAIL_IN_MEMORY = {"BACKEND": "django.core.mail.backends.locmem.EmailBackend"}
MAILERS = {"default": MAIL_IN_MEMORY if TEST else MAIL_INTO_FOLDER if DEMO else MAIL_BY_SERVER}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}},
    "filters": {"no_tokens": {"()": "workshop.pages.logs.NoTokens"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line", "filters": ["no_tokens"]}},
    # Django's own handlers would write around the filter.
    "loggers": {
        **{name: {"handlers": ["console"], "propagate": False} for name in ("django", "django.server")},
        "django.security.DisallowedHost": {"level": "CRITICAL"},  # whoever scans the net asks under any name: a 400 says enough
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
}
