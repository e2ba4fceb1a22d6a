"""What stands between `serve` and the first page: refusals, the upgrade after its backup, static files, the address of the first page."""

import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

from django.conf import settings
from django.core.management import call_command
from django.http.request import validate_host
from django.utils import timezone

from workshop import clock
from workshop.company import actions as company
from workshop.upkeep import backup

SHORTEST_KEY = 50
IN_MEMORY = Path("/dev/shm")  # noqa: S108  gunicorn's heartbeat; on a slow disk it could stop a worker that is well


def refusals() -> Iterator[str]:
    """Why these settings would serve nobody, or anybody, a sentence each. A missing key, host or address is refused by the settings."""
    if settings.DEMO or settings.TEST or settings.DEBUG:
        return
    if len(settings.SECRET_KEY) < SHORTEST_KEY:
        yield f"HARDSTAND_SECRET_KEY has {len(settings.SECRET_KEY)} characters. It needs {SHORTEST_KEY}: every link is signed with it."
    if "*" in settings.ALLOWED_HOSTS:
        yield "HARDSTAND_HOSTS is *. Name the server: links would be built for whoever asks."
    address = urlsplit(settings.SITE_URL)
    if address.scheme != "https":
        yield f"HARDSTAND_URL is {settings.SITE_URL}. It begins with https://: the camera and the sheets without signal work over TLS only."
    elif not validate_host(address.hostname or "", settings.ALLOWED_HOSTS):
        yield f"HARDSTAND_URL leads to {address.hostname}, and HARDSTAND_HOSTS does not name it. Every link would be answered with a 400."
    if not settings.BEHIND_PROXY:
        yield (
            "HARDSTAND_BEHIND_PROXY is not yes. This server speaks no TLS itself: put a reverse proxy before it "
            "(workshop/upkeep/examples has two), then set it to yes."
        )


def make_current() -> Iterator[str]:
    """Brings database and static files to this version, telling each step. A database with records is backed up, and the upgrade tried
    on the copy, before it is touched. Raises backup.NotRestored, and has changed nothing, when that fails."""
    if plan := backup.waiting():
        if not backup.is_empty():
            folder = settings.DATA_DIR / "backups"
            folder.mkdir(mode=0o700, exist_ok=True)
            target = folder / f"before-upgrade-{timezone.localtime(clock.now()):%Y%m%d-%H%M%S}.zip"
            yield f"{len(plan)} migrations wait. Backing up first, and trying them on the copy."
            backup.write_backup(target)
            yield f"Backed up as {target}."
        call_command("migrate", verbosity=0)
        yield "The database is at this version."
    call_command("collectstatic", interactive=False, verbosity=0)
    yield f"Static files lie in {settings.STATIC_ROOT}."


def first_address() -> str:
    """What to say on the console about a place that nobody can sign in to yet; "" when somebody can."""
    address = company.offer_first()
    if not address:
        return ""
    return f"Nobody can sign in yet. Set the business up within 24 hours, once, at\n\n  {address}\n\nStarting `serve` again makes another."


def gunicorn(host: str, port: int, threads: int) -> list[str]:
    """The command that serves.

    One process with threads: SQLite has one writer at a time, so a second process only adds waiting, the count of wrong passwords
    lives in the memory of the process, and one worker is all that a small server has room for. PDFs and pictures leave Python's lock
    while they are made. No access log: the token of a link is part of the address, and the proxy can keep a log without it.
    """
    words = ["-m", "gunicorn", "workshop.wsgi", "--worker-class", "gthread", "--workers", "1", "--threads", str(threads)]
    words += ["--bind", f"[{host}]:{port}" if ":" in host else f"{host}:{port}", "--no-control-socket", "--log-level", "warning"]
    words += ["--graceful-timeout", "30", "--timeout", "60"]
    return [sys.executable, *words, *(["--worker-tmp-dir", str(IN_MEMORY)] if IN_MEMORY.is_dir() else [])]
