"""The files beside the upkeep room: what they name exists, and they hang together. Tried by hand with the programs themselves too."""

import configparser
import json
import os
import re
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management import get_commands
from django.test import RequestFactory, override_settings

from workshop.bootstrap import FOR_PAPERS

FOLDER = settings.BASE_DIR / "workshop/upkeep/examples"
NAMES = {"Caddyfile", "nginx.conf", "hardstand.service", "hardstand-backup.service", "hardstand-backup.timer", "Containerfile"}
TEXTS = {path.name: path.read_text() for path in FOLDER.iterdir()}
KNOWN = set(re.findall(r"^#? ?([A-Z_]+)=", (settings.BASE_DIR / ".env.example").read_text(), re.M))
# systemd.unit(5), systemd.exec(5), systemd.service(5), systemd.timer(5): sections and the keys used here.
SECTIONS = {"service": {"Unit", "Service", "Install"}, "timer": {"Unit", "Timer", "Install"}}


def unit(name: str) -> configparser.ConfigParser:
    parser = configparser.ConfigParser(interpolation=None, strict=True, comment_prefixes="#", delimiters="=")
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read_string(TEXTS[name])
    return parser


def test_all_are_there_and_the_readme_names_them() -> None:
    assert set(TEXTS) == NAMES
    readme = (settings.BASE_DIR / "README.md").read_text()
    assert "workshop/upkeep/examples" in readme
    assert [name for name in NAMES if name not in readme] == []


@pytest.mark.parametrize("name", sorted(NAMES))
def test_only_settings_and_commands_that_exist_are_named(name: str) -> None:
    assert set(re.findall(r"\b(?:HARDSTAND_[A-Z_]+|DATABASE_URL)\b", TEXTS[name])) <= KNOWN
    commands = set(re.findall(r'manage\.py"?,? "?([a-z_]+)', TEXTS[name]))
    assert commands <= {*get_commands(), "version"}


@pytest.mark.parametrize("name", [name for name in sorted(NAMES) if name.startswith("hardstand")])
def test_a_unit_can_be_read_and_has_its_sections(name: str) -> None:
    parser = unit(name)
    assert set(parser.sections()) <= SECTIONS[name.rpartition(".")[2]]
    if "Service" in parser:
        service = parser["Service"]
        assert service["User"] == service["Group"] == "hardstand"
        assert service["WorkingDirectory"] == "/opt/hardstand"
        assert service["StateDirectory"].split()[0] == "hardstand"  # /var/lib/hardstand, as .env.example says
        assert (service["NoNewPrivileges"], service["ProtectSystem"]) == ("yes", "strict")


def test_the_units_fit_each_other_and_the_environment() -> None:
    assert "HARDSTAND_DATA=/var/lib/hardstand\n" in (settings.BASE_DIR / ".env.example").read_text()
    assert unit("hardstand-backup.timer")["Timer"]["OnCalendar"]
    backup = unit("hardstand-backup.service")["Service"]
    assert "/var/lib/hardstand/backups/" in backup["ExecStart"]
    assert "hardstand/backups" in backup["StateDirectory"]
    assert "%%u" in backup["ExecStart"]  # a single % is systemd's own


def test_the_container_installs_what_papers_need_and_serves() -> None:
    text = TEXTS["Containerfile"]
    installed = re.search(r"--no-install-recommends ([^\n\\]+)", text)
    assert installed
    assert set(installed[1].split()) == set(FOR_PAPERS)
    assert json.loads(re.findall(r"^CMD (\[.*\])$", text, re.M)[-1]) == ["python3", "manage.py", "serve", "--host", "0.0.0.0"]
    words = {line.split()[0] for line in text.replace("\\\n", "").splitlines() if line and not line.startswith("#")}
    assert words == {"FROM", "RUN", "COPY", "WORKDIR", "USER", "ENV", "VOLUME", "EXPOSE", "HEALTHCHECK", "CMD"}
    assert [
        name for name in (".git", ".venv", "var", ".env") if name not in (settings.BASE_DIR / ".dockerignore").read_text().split()
    ] == []


def test_the_proxies_lead_to_the_port_that_serve_takes_and_let_a_picture_through() -> None:
    for name in ("Caddyfile", "nginx.conf"):
        assert "127.0.0.1:8000" in TEXTS[name]
        assert re.search(r"30mb", TEXTS[name].replace("30m;", "30mb"), re.I)
        assert settings.DATA_UPLOAD_MAX_MEMORY_SIZE == 30 * 1024 * 1024
    assert "access_log off" in TEXTS["nginx.conf"]
    assert "proxy_set_header X-Forwarded-For $remote_addr;" in TEXTS["nginx.conf"]  # never what a visitor sent


def test_braces_close() -> None:
    for name in ("Caddyfile", "nginx.conf"):
        assert TEXTS[name].count("{") == TEXTS[name].count("}")


def test_a_proxys_word_counts_only_where_it_is_trusted() -> None:
    asked = RequestFactory().get("/", headers={"X-Forwarded-Proto": "https"})
    with override_settings(SECURE_PROXY_SSL_HEADER=None):
        assert not asked.is_secure()
    with override_settings(SECURE_PROXY_SSL_HEADER=("HTTP_X_FORWARDED_PROTO", "https")):
        assert RequestFactory().get("/", headers={"X-Forwarded-Proto": "https"}).is_secure()


TELL = """
from django.conf import settings as s
print(s.BEHIND_PROXY, s.ALLAUTH_TRUSTED_PROXY_COUNT, getattr(s, "SECURE_PROXY_SSL_HEADER", None))
"""


@pytest.mark.parametrize(
    ("said", "told"), [("yes", "True 1 ('HTTP_X_FORWARDED_PROTO', 'https')"), ("", "False 0 None"), ("no", "False 0 None")]
)
def test_the_trusted_proxy_setting(said: str, told: str, tmp_path: object) -> None:
    surroundings = {**os.environ, "HARDSTAND_BEHIND_PROXY": said, "HARDSTAND_DATA": str(tmp_path), "HARDSTAND_TEST": "1"}
    surroundings["DJANGO_SETTINGS_MODULE"] = "workshop.settings"
    words = [sys.executable, "-c", TELL]
    done = subprocess.run(words, env=surroundings, cwd=settings.BASE_DIR, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == told
