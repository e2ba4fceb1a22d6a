"""Places of their own for tests that need real processes: a data folder and, on PostgreSQL, a database beside the test's."""

import os
import subprocess
import sys
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from django.conf import settings
from psycopg import sql

Surroundings = dict[str, str]


def django(surroundings: Surroundings, *words: str, check: bool = True) -> subprocess.CompletedProcess[str]:
    """A management command in that place."""
    return subprocess.run(
        [sys.executable, "-m", "django", *words], env=surroundings, cwd=settings.BASE_DIR, capture_output=True, text=True, check=check
    )


def script(surroundings: Surroundings, code: str, *words: str) -> subprocess.Popen[bytes]:
    """A Python process in that place, Django set up."""
    return subprocess.Popen(
        [sys.executable, "-c", f"import django; django.setup()\n{code}", *words], env=surroundings, cwd=settings.BASE_DIR
    )


@contextmanager
def place(folder: Path, template: str = "") -> Iterator[Surroundings]:
    """The environment of an empty place on the database that this test run uses. A template names a PostgreSQL database to copy."""
    surroundings = {**os.environ, "HARDSTAND_TEST": "1", "HARDSTAND_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "workshop.settings"}
    if not (server := os.environ.get("DATABASE_URL")):
        yield surroundings
        return
    name = f"place_{uuid.uuid4().hex[:12]}"
    copied = sql.SQL(" TEMPLATE {}").format(sql.Identifier(template)) if template else sql.SQL("")
    with psycopg.connect(server, autocommit=True) as root:
        root.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)) + copied)
        head, _, tail = server.partition("?")
        base = head.rsplit("/", 1)[0]
        try:
            yield {**surroundings, "DATABASE_URL": f"{base}/{name}" + (f"?{tail}" if tail else "")}
        finally:
            root.execute(sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name)))
