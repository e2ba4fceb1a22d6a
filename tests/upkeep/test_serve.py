"""serve: it refuses what would serve nobody, upgrades after a backup, serves, and ends in order."""

import contextlib
import os
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.test import override_settings

from tests import homes
from tests.browser.home import free_port
from workshop.upkeep import backup, serve

GOOD = {
    "TEST": False,
    "DEMO": False,
    "SECRET_KEY": "k" * 50,
    "ALLOWED_HOSTS": ["jobs.example"],
    "SITE_URL": "https://jobs.example",
    "BEHIND_PROXY": True,
}
ENVIRONMENT = {
    "HARDSTAND_SECRET_KEY": "k" * 50,
    "HARDSTAND_HOSTS": "jobs.example",
    "HARDSTAND_URL": "https://jobs.example",
    "HARDSTAND_BEHIND_PROXY": "yes",
    "HARDSTAND_TEST": "",
    "HARDSTAND_DEMO": "",
}


def test_good_settings_are_served() -> None:
    with override_settings(**GOOD):
        assert list(serve.refusals()) == []
    with override_settings(**{**GOOD, "ALLOWED_HOSTS": [".example"]}):
        assert list(serve.refusals()) == []


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"SECRET_KEY": "short"}, "HARDSTAND_SECRET_KEY has 5 characters. It needs 50"),
        ({"ALLOWED_HOSTS": ["*"]}, "HARDSTAND_HOSTS is *."),
        ({"SITE_URL": "http://jobs.example"}, "HARDSTAND_URL is http://jobs.example. It begins with https://"),
        ({"SITE_URL": "jobs.example"}, "HARDSTAND_URL is jobs.example. It begins with https://"),
        ({"SITE_URL": "https://other.example"}, "HARDSTAND_URL leads to other.example, and HARDSTAND_HOSTS does not name it."),
        ({"BEHIND_PROXY": False}, "HARDSTAND_BEHIND_PROXY is not yes."),
    ],
)
def test_settings_that_would_serve_nobody_are_refused(change: dict[str, object], sentence: str) -> None:
    with override_settings(**{**GOOD, **change}):
        assert sentence in "\n".join(serve.refusals())
        with pytest.raises(CommandError, match="Nothing is served"):
            call_command("serve")


@pytest.mark.parametrize("missing", ["HARDSTAND_SECRET_KEY", "HARDSTAND_HOSTS", "HARDSTAND_URL"])
def test_without_key_host_or_address_it_says_so_in_a_sentence(missing: str, tmp_path: Path) -> None:
    surroundings = {**os.environ, **ENVIRONMENT, missing: "", "HARDSTAND_DATA": str(tmp_path), "DATABASE_URL": ""}
    words = [sys.executable, "manage.py", "serve"]
    done = subprocess.run(words, env=surroundings, cwd=settings.BASE_DIR, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert missing in done.stderr
    assert "Traceback" not in done.stderr


def test_one_process_with_threads_and_no_access_log() -> None:
    words = serve.gunicorn("::1", 8000, 4)
    assert "[::1]:8000" in words
    assert words[words.index("--workers") + 1] == "1"
    assert "--access-logfile" not in words


class Served:
    """`manage.py serve` in a place of its own."""

    def __init__(self, surroundings: homes.Surroundings, log: Path) -> None:
        self.port, self.log = free_port(), log
        words = [sys.executable, "manage.py", "serve", "--port", str(self.port)]
        with log.open("wb") as out:
            self.process = subprocess.Popen(words, env=surroundings, cwd=settings.BASE_DIR, stdout=out, stderr=out, start_new_session=True)
        for _ in range(1200):
            with contextlib.suppress(OSError):
                if self.get("/healthz", host="127.0.0.1")[0] == 200:
                    return
            if self.process.poll() is not None:
                break
            time.sleep(0.1)
        self.end(signal.SIGKILL)
        raise RuntimeError(log.read_text())

    def get(self, where: str, host: str = "jobs.example", proto: str = "https") -> tuple[int, str, bytes]:
        """Status, content type and body, asked as the proxy asks."""
        asked = urllib.request.Request(f"http://127.0.0.1:{self.port}{where}", headers={"Host": host, "X-Forwarded-Proto": proto})
        opener = urllib.request.build_opener(NoRedirect)
        try:
            with opener.open(asked, timeout=30) as answer:
                return answer.status, answer.headers["Content-Type"], answer.read()
        except urllib.error.HTTPError as refused:
            return refused.code, refused.headers["Location"] or "", refused.read()

    def end(self, how: signal.Signals = signal.SIGTERM) -> int:
        """Ends it and returns its exit status."""
        with contextlib.suppress(ProcessLookupError):
            if how is signal.SIGKILL:
                os.killpg(self.process.pid, how)  # a session of its own: this server and its worker
            else:
                self.process.send_signal(how)
        return self.process.wait(60)


class NoRedirect(urllib.request.HTTPRedirectHandler):
    """A redirect is an answer like another."""

    def redirect_request(self, *args: object) -> None:
        return None


@contextlib.contextmanager
def served(surroundings: homes.Surroundings, log: Path) -> Iterator[Served]:
    """A server that has ended afterwards, whatever happened."""
    server = Served(surroundings, log)
    try:
        yield server
    finally:
        server.end(signal.SIGKILL)


@pytest.mark.slow
@pytest.mark.both_databases
def test_an_empty_place_is_served_and_ends_in_order(tmp_path: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    with homes.place(home) as made:
        surroundings = {**made, **ENVIRONMENT}
        with served(surroundings, tmp_path / "log") as server:
            said = server.log.read_text()
            assert "The database is at this version." in said
            assert "Backing up" not in said
            first = re.search(r"https://jobs\.example(/company/first/[\w-]{43}/)", said)
            assert first
            status, _, page = server.get(first[1])
            assert status == 200
            assert b"Set up the business" in page
            status, _, page = server.get("/accounts/login/")
            assert status == 200
            style = re.search(rb'href="(/static/pages/base\.[0-9a-f]{12}\.css)"', page)
            assert style  # named by its content, so that it can be kept for ever
            status, kind, body = server.get(style[1].decode())
            assert (status, kind) == (200, 'text/css; charset="utf-8"')
            assert body == (settings.BASE_DIR / "static/pages/base.css").read_bytes()
            assert server.get("/accounts/login/", proto="http")[:2] == (301, "https://jobs.example/accounts/login/")
            assert server.get("/accounts/login/", host="evil.example")[0] == 400
            assert server.end() == 0
            assert "Traceback" not in server.log.read_text()
            assert server.log.read_text().count(first[1]) == 1  # said once, and in no log


UNDO = ("customers", "0002_mended")  # the migration after it only adds a column
FILL = "from tests.upkeep.test_backup import fill; fill()"


@pytest.mark.slow
@pytest.mark.sqlite_only  # real settings refuse the cluster of the tests, which runs without fsync
def test_what_waits_is_done_after_a_backup_that_was_tried(tmp_path: Path) -> None:
    """One migration back, with a business in it: backed up as it stands, the copy restored and upgraded, then the place itself."""
    home = tmp_path / "home"
    home.mkdir()
    with homes.place(home) as made:
        surroundings = {**made, **ENVIRONMENT}
        homes.django(surroundings, "migrate", "-v0")
        assert homes.script(surroundings, FILL).wait() == 0
        homes.django(surroundings, "migrate", "-v0", *UNDO)
        with served(surroundings, tmp_path / "log") as server:
            said = server.log.read_text()
            assert "1 migrations wait. Backing up first, and trying them on the copy." in said
            assert "Nobody can sign in" not in said
            assert server.end() == 0
        assert "All adds up" in homes.django(surroundings, "verify").stdout
        kept = next((home / "backups").glob("before-upgrade-*.zip"))
        assert kept.stat().st_mode & 0o077 == 0
        assert not [*home.glob("snapshot-*"), *home.glob("proof-*")]
    with zipfile.ZipFile(kept) as archive:
        assert b"customers.0003_number" not in archive.read("manifest.json")


@pytest.mark.django_db
def test_an_upgrade_that_fails_on_the_copy_touches_nothing(monkeypatch: pytest.MonkeyPatch, company: object, tmp_path: Path) -> None:
    def fails(target: Path) -> None:
        raise backup.NotRestored("The table jobs.Card was damaged in the backup.")

    done: list[str] = []
    monkeypatch.setattr(backup, "waiting", lambda: ["one"])
    monkeypatch.setattr(backup, "write_backup", fails)
    monkeypatch.setattr(serve, "call_command", lambda *words, **more: done.append(words[0]))
    with override_settings(DATA_DIR=tmp_path), pytest.raises(CommandError, match="Nothing was upgraded and nothing is served"):
        call_command("serve")
    assert done == []
