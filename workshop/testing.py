"""What `manage.py test` does: the suite on SQLite, what touches the database again on PostgreSQL, then the journeys in a browser."""

import json
import os
import pwd
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from workshop.bootstrap import ROOT, postgresql_programs

NOTHING_SELECTED = 5  # pytest's exit status (docs.pytest.org, "Exit codes")


@dataclass(frozen=True)
class Leg:
    """One run of pytest. `counted_as` names the items that it runs in the tally of any other leg."""

    name: str
    options: tuple[str, ...]
    counted_as: str
    on_postgresql: bool = False


LEGS = (
    Leg("SQLite", ("--only=plain",), "plain"),
    Leg("PostgreSQL", ("--only=plain", "--only-db"), "plain-db", on_postgresql=True),
    Leg("Chromium", ("--only=browser",), "browser"),
    Leg("Chromium-PostgreSQL", ("--only=browser", "--only-db"), "browser-db", on_postgresql=True),
)


def run(arguments: Sequence[str]) -> int:
    """Runs all legs, or of each what pytest's arguments select. Returns the exit status: 0 only when every leg passed."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # so that the cluster is stopped
    with tempfile.TemporaryDirectory(prefix="hardstand-test-") as folder, PostgreSQL() as cluster:
        status, lines = one_by_one(arguments, Path(folder), cluster) if arguments else in_pairs(Path(folder), cluster)
    print("\n" + "\n".join(lines))
    return status


def in_pairs(folder: Path, cluster: "PostgreSQL") -> tuple[int, list[str]]:
    """The whole suite, a leg on each core: SQLite and PostgreSQL, then both browsers. The second of a pair is printed when it is done."""
    status, lines = 0, []
    for first, second in (LEGS[:2], LEGS[2:]):
        with ThreadPoolExecutor() as both, tempfile.TemporaryFile("w+") as later:
            runs = [both.submit(timed, first, folder, ""), both.submit(timed, second, folder, cluster.url(), later)]
            told = [one.result() for one in runs]
            later.seek(0)
            print(later.read(), flush=True)
        for leg, (code, tally, seconds) in zip((first, second), told, strict=True):
            status = status or code
            lines.append(summary(leg, code, tally, seconds))
    return status, lines


def timed(leg: Leg, folder: Path, url: str, out: IO[str] | None = None) -> tuple[int, dict[str, int], float]:
    """run_leg on the whole suite, and how long it took."""
    began = time.monotonic()
    code, tally = run_leg(leg, [], folder, url, out)
    return code, tally, time.monotonic() - began


def one_by_one(arguments: Sequence[str], folder: Path, cluster: "PostgreSQL") -> tuple[int, list[str]]:
    """What the arguments select; a leg of which the first saw nothing is left out, so that a pure test starts no cluster."""
    status, lines = 0, []
    tally: dict[str, int] = {}
    for leg in LEGS:
        if tally and not tally.get(leg.counted_as):
            continue
        began = time.monotonic()
        code, tally = run_leg(leg, arguments, folder, cluster.url() if leg.on_postgresql else "")
        if code == NOTHING_SELECTED and any(tally.get(other.counted_as) for other in LEGS):
            continue
        status = status or code
        lines.append(summary(leg, code, tally, time.monotonic() - began))
        if not tally:  # pytest itself did not run: a wrong option, or stopped from the keyboard
            break
    return status, lines


def run_leg(leg: Leg, arguments: Sequence[str], folder: Path, url: str, out: IO[str] | None = None) -> tuple[int, dict[str, int]]:
    """Runs pytest once. Returns its exit status and its counts (empty when it did not come to run)."""
    print(f"\n== {leg.name}", file=out, flush=True)
    own = folder / leg.name
    own.mkdir(exist_ok=True)
    tally = own / "tally.json"
    command = [sys.executable, "-m", "pytest", "-q", *leg.options, f"--tally={tally}", *arguments]
    code = subprocess.run(command, check=False, cwd=ROOT, env=environment(own, url), stdout=out, stderr=out).returncode
    return code, json.loads(tally.read_text()) if tally.exists() else {}


def environment(folder: Path, url: str) -> dict[str, str]:
    """The caller's, without a business's own settings: tests never see real data."""
    values = {name: value for name, value in os.environ.items() if not name.startswith("HARDSTAND_") and name != "DATABASE_URL"}
    values.update(HARDSTAND_TEST="1", HARDSTAND_DATA=str(folder / "data"), DJANGO_ALLOW_ASYNC_UNSAFE="true")
    if url:
        values["DATABASE_URL"] = url
    return values


def summary(leg: Leg, code: int, tally: dict[str, int], seconds: float) -> str:
    """One closing line, such as `SQLite: 412 passed, 0 failed`."""
    if not tally:
        return f"{leg.name}: did not run (pytest's exit status {code})"
    failed = tally["failed"] + tally["error"]
    skipped = tally["skipped"] + tally["xfailed"] + tally["xpassed"]
    line = f"{leg.name}: {tally['passed']} passed, {failed} failed" + (f", {skipped} skipped" if skipped else "")
    print(f"== {leg.name} took {seconds:.0f} s", flush=True)
    return line


class PostgreSQL:
    """A throwaway cluster that starts when first asked for, listens on a socket only and is gone at the end."""

    def __init__(self) -> None:
        self._folder: Path | None = None
        self._programs = Path(postgresql_programs() or "")
        # initdb refuses root
        self._owner = _unprivileged() if os.geteuid() == 0 else None

    def __enter__(self) -> "PostgreSQL":
        return self

    def __exit__(self, *_: object) -> None:
        if self._folder:
            self._call("pg_ctl", "-D", "data", "-m", "immediate", "-w", "stop")
            shutil.rmtree(self._folder, ignore_errors=True)

    def url(self) -> str:
        """Its address for DATABASE_URL."""
        if self._folder is None:
            self._start()
        return f"postgresql://hardstand@/hardstand?host={self._folder}"

    def _start(self) -> None:
        # A socket's path may have 107 bytes (unix(7)), and TMPDIR may be long.
        self._folder = Path(tempfile.mkdtemp(prefix="hardstand-pg-", dir="/tmp"))
        if self._owner:
            os.chown(self._folder, self._owner.pw_uid, self._owner.pw_gid)
        self._folder.chmod(0o755)
        self._call("initdb", "-D", "data", "-U", "hardstand", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--data-checksums", "-N")
        # fsync off: these rows need not outlive a power cut
        settings = f"-c listen_addresses= -c unix_socket_directories={self._folder} -c fsync=off"
        self._call("pg_ctl", "-D", "data", "-l", "log", "-o", settings, "-w", "start")
        self._call("createdb", "-h", str(self._folder), "-U", "hardstand", "hardstand")

    def _call(self, program: str, *arguments: str) -> None:
        owner = self._owner
        done = subprocess.run(
            [str(self._programs / program), *arguments],
            check=False,
            cwd=self._folder,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            user=owner.pw_uid if owner else None,
            group=owner.pw_gid if owner else None,
            extra_groups=() if owner else None,
        )
        if done.returncode != 0:
            raise SystemExit(f"PostgreSQL: {program} failed.\n{done.stdout}")


def _unprivileged() -> pwd.struct_passwd:
    """The account that runs the cluster when the tests run as root."""
    try:
        return pwd.getpwnam("postgres")
    except KeyError:
        return pwd.getpwnam("nobody")
