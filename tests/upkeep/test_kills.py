"""kill -9 in the middle of a backup or a restore: what was there before, or what was to be, never something between."""

import os
import random
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.conf import settings

from tests import homes

FILL = "from tests.upkeep.test_backup import fill; fill()"
COUNT = """
from django.apps import apps
from django.db import connection
there = set(connection.introspection.table_names())
found = [apps.get_model(label) for label in ("history.Event", "jobs.Card", "company.Company")]
print(*(model.objects.count() if model._meta.db_table in there else 0 for model in found))
"""


def started(surroundings: homes.Surroundings, *words: str) -> subprocess.Popen[bytes]:
    """A command in a session of its own, so that it is killed with what it started."""
    return subprocess.Popen(
        [sys.executable, "-m", "django", *words],
        env=surroundings,
        cwd=settings.BASE_DIR,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def killed(process: subprocess.Popen[bytes], after: float) -> bool:
    """Kills it so many seconds after its start; False when it had ended before."""
    try:
        process.wait(after)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)  # the session that `started` made: this command and its own children
        process.wait()
        return True
    return False


def rows(surroundings: homes.Surroundings) -> list[str]:
    """How many lines of history, cards and businesses there are."""
    return homes.django(surroundings, "shell", "-v0", "-c", COUNT).stdout.split()


@pytest.mark.slow
@pytest.mark.both_databases
def test_kill_in_the_middle_leaves_old_or_new(tmp_path: Path) -> None:
    """Moments from a seed, spread over how long the whole takes; the last rounds end by themselves and are whole."""
    seed = int(os.environ.get("HARDSTAND_SEED", "20261125"))
    moments = random.Random(seed)
    home, target = tmp_path / "home", tmp_path / "kept.zip"
    home.mkdir()
    with homes.place(home) as surroundings, blank(surroundings, home, tmp_path / "empty") as empty:
        assert homes.script(surroundings, FILL).wait() == 0
        whole = rows(surroundings)
        began = time.monotonic()
        homes.django(surroundings, "backup", str(target))
        takes, first = time.monotonic() - began, target.read_bytes()
        cut = 0
        for _ in range(2):
            cut += killed(started(surroundings, "backup", str(target)), moments.uniform(0.3, 0.9) * takes)
            assert target.read_bytes() == first or zipfile.ZipFile(target).testzip() is None, f"seed {seed}"
        assert cut, f"no backup was cut, seed {seed}"
        assert rows(surroundings) == whole
        homes.django(surroundings, "backup", str(target))
        assert not [*home.glob("snapshot-*"), *home.glob("proof-*"), *tmp_path.glob("*.part")]
        restored(empty, target, whole, moments, seed)


@contextmanager
def blank(surroundings: homes.Surroundings, home: Path, empty: Path) -> Iterator[homes.Surroundings]:
    """Brings a place to this version, and copies it before anything is in it: migrating takes longer than all the rest."""
    homes.django(surroundings, "migrate", "-v0")
    shutil.copytree(home, empty)
    with homes.place(empty, template=urlsplit(surroundings.get("DATABASE_URL", "")).path.lstrip("/")) as copied:
        yield copied


def restored(surroundings: homes.Surroundings, target: Path, whole: list[str], moments: random.Random, seed: int) -> None:
    """Into one and the same place, killed again and again, until one restore ends by itself."""
    for _ in range(3):
        killed(started(surroundings, "restore", str(target)), moments.uniform(0.5, 3))
        found = rows(surroundings)
        assert found in (["0", "0", "0"], whole), f"seed {seed}: {found}"
    done = homes.django(surroundings, "restore", str(target), check=False)
    assert done.returncode == 0 or "There is something here already" in done.stderr, done.stderr
    assert rows(surroundings) == whole
    assert "All adds up" in homes.django(surroundings, "verify").stdout


PAUSED = """
import os, signal, sys
from workshop.upkeep import backup
real = getattr(backup, sys.argv[1])
def stops(*words):
    done = real(*words)
    os.kill(os.getpid(), signal.SIGKILL)
setattr(backup, sys.argv[1], stops)
from django.core.management import call_command
call_command(sys.argv[2], sys.argv[3])
"""


@pytest.mark.slow
@pytest.mark.parametrize(
    ("at", "command"),
    [("_write_part", "backup"), ("_restore_file", "restore"), ("_restore_table", "restore"), ("_continue_sequences", "restore")],
)
def test_killed_at_the_worst_places(at: str, command: str, tmp_path: Path, filled: tuple[homes.Surroundings, Path, list[str]]) -> None:
    """Right after the file is written and before it is proved; after a file, a table, and all tables were put back, before the commit."""
    surroundings, kept, whole = filled
    if command == "restore":
        shutil.copytree(kept.with_name("blank"), tmp_path / "empty")
        surroundings = {**surroundings, "HARDSTAND_DATA": str(tmp_path / "empty"), "DATABASE_URL": ""}
    target = kept if command == "restore" else tmp_path / "new.zip"
    assert homes.script(surroundings, PAUSED, at, command, str(target)).wait() == -signal.SIGKILL
    if command == "backup":
        assert not target.exists()
        assert rows(surroundings) == whole
    else:
        assert rows(surroundings) == ["0", "0", "0"]
        assert "history ends at line" in homes.django(surroundings, "restore", str(target)).stdout
        assert rows(surroundings) == whole


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    """A place with a business in it on SQLite, and its backup."""
    home = tmp_path_factory.mktemp("filled")
    surroundings = {**os.environ, "HARDSTAND_TEST": "1", "HARDSTAND_DATA": str(home), "DATABASE_URL": ""}
    surroundings["DJANGO_SETTINGS_MODULE"] = "workshop.settings"
    homes.django(surroundings, "migrate", "-v0")
    shutil.copytree(home, home.parent / "blank")
    assert homes.script(surroundings, FILL).wait() == 0
    kept = home.parent / "filled.zip"
    homes.django(surroundings, "backup", str(kept))
    return surroundings, kept, rows(surroundings)
