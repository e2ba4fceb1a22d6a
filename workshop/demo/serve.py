"""Serve the demo on this machine."""

import os
import sys

from django.conf import settings

from workshop.demo import build


def prepare(port: int) -> None:
    """Links are built for the port that is served."""
    settings.SITE_URL = os.environ["HARDSTAND_URL"] = f"http://127.0.0.1:{port}"


def names() -> list[str]:
    """Who may sign in, with the demo's passwords."""
    return [f"{person['role']}: {person['username']}, password {person['password']}" for person in build.people()]


def serve(port: int) -> None:
    """Becomes the application server; ends with it."""
    command = [sys.executable, "-m", "gunicorn", "workshop.wsgi", f"--bind=127.0.0.1:{port}", "--worker-class=gthread", "--threads=8"]
    os.execv(sys.executable, [*command, "--log-level=warning", "--no-control-socket"])  # noqa: S606  our own command
