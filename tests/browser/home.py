"""A real server on a place of its own, copied from one that was filled once. Nothing is ever flushed: history refuses to be deleted."""

import contextlib
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings

from tests import homes

READ = """
import json, sys
from django.apps import apps
model, filters, fields = json.loads(sys.argv[1])
print(json.dumps(list(apps.get_model(model).objects.filter(**filters).order_by("pk").values(*fields)), default=str))
"""


def free_port() -> int:
    """A port of this machine that nobody listens on."""
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return int(door.getsockname()[1])


class Home:
    """A running business: its address, and the means to stop it, kill it and look into its records."""

    def __init__(self, surroundings: homes.Surroundings) -> None:
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self.surroundings = {**surroundings, "HARDSTAND_URL": self.url}
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Serves, and returns when it answers."""
        log = Path(self.surroundings["HARDSTAND_DATA"]) / "server.log"
        gunicorn = [sys.executable, "-m", "gunicorn", "workshop.wsgi", "--worker-class", "gthread", "--threads", "8"]
        with log.open("ab") as out:
            self.process = subprocess.Popen(
                [*gunicorn, "--bind", f"127.0.0.1:{self.port}", "--access-logfile", "-", "--log-level", "warning"],
                env=self.surroundings,
                cwd=settings.BASE_DIR,
                stdout=out,
                stderr=out,
                start_new_session=True,
            )
        for _ in range(300):
            if self.process.poll() is not None:
                raise RuntimeError(f"The server ended at once:\n{log.read_text()[-3000:]}")
            with contextlib.suppress(OSError), urllib.request.urlopen(f"{self.url}/robots.txt", timeout=20):
                return
            time.sleep(0.1)
        raise RuntimeError(f"The server did not answer in 30 s:\n{log.read_text()[-3000:]}")

    def _end(self, how: signal.Signals) -> None:
        if self.process and self.process.poll() is None:
            if how is signal.SIGKILL:
                with contextlib.suppress(ProcessLookupError):
                    os.killpg(self.process.pid, how)  # a session of its own: parent and worker, nobody else
            else:
                self.process.send_signal(how)
            self.process.wait(20)
        self.process = None

    def stop(self) -> None:
        """Ends it in order."""
        self._end(signal.SIGTERM)

    def kill(self) -> None:
        """Ends it as a power cut of the program would: no goodbye."""
        self._end(signal.SIGKILL)

    def manage(self, *words: str) -> str:
        """A management command on its records; what it printed."""
        return homes.django(self.surroundings, *words).stdout

    def rows(self, model: str, *fields: str, **filters: Any) -> list[dict[str, Any]]:
        """Rows of a model ("jobs.Note"), times and ids as text."""
        code = f"import django; django.setup()\n{READ}"
        words = [sys.executable, "-c", code, json.dumps([model, filters, fields])]
        done = subprocess.run(words, env=self.surroundings, cwd=settings.BASE_DIR, capture_output=True, text=True, check=True)
        found: list[dict[str, Any]] = json.loads(done.stdout)
        return found

    def hits(self) -> list[str]:
        """Every request that reached the server: "PUT /m/sync/op/..."."""
        log = (Path(self.surroundings["HARDSTAND_DATA"]) / "server.log").read_text(errors="replace")
        return [line.split('"')[1].rsplit(" ", 1)[0] for line in log.splitlines() if line.count('"') >= 2 and "HTTP/1" in line]


@contextlib.contextmanager
def filled(folder: Path) -> Iterator[homes.Surroundings]:
    """A place with the stock in it, to be copied."""
    with homes.place(folder) as surroundings:
        homes.django(surroundings, "migrate", "-v0")
        if homes.script(surroundings, "from tests.browser import stock; stock.fill()").wait():
            raise RuntimeError("The place could not be filled.")
        yield surroundings


@contextlib.contextmanager
def copied(template: homes.Surroundings, folder: Path) -> Iterator[Home]:
    """A home on a copy of a filled place, not started yet; ended afterwards."""
    shutil.copytree(template["HARDSTAND_DATA"], folder, dirs_exist_ok=True)
    database = urlsplit(template.get("DATABASE_URL", "")).path.lstrip("/")
    with homes.place(folder, template=database) as surroundings:
        home = Home(surroundings)
        try:
            yield home
        finally:
            home.kill()
