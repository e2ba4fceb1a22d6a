"""Makes what a command needs to run, then hands over to it: Python, packages from the lock file, Debian's libraries.

Standard library only and the syntax of Python 3.9, because this file is read before anything is known about the machine.
When all is in place it only compares a stamp. What it does it says on stderr.
"""

import ctypes
import fcntl
import glob
import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Callable, Dict, Iterator, List, NoReturn, Optional, Sequence

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
VAR = ROOT / "var"
STAMP = VENV / "hardstand.json"
LOCK = ROOT / "uv.lock"
NEEDS_SOMETHING = 2  # exit status: the machine lacks something that only its owner can give
FETCHED_PYTHON = "3.13"
UV = "uv~=0.13"  # writes and reads the committed lock file

# Prints the interpreter that a virtual environment is to be made from, or nothing where it is too old,
# a preview, or built without the lock that most wheels expect.
PROBE = (
    "import sys; v = sys.version_info; "
    "fit = v >= (3, 12) and v.releaselevel == 'final' and sys.implementation.name == 'cpython' and 't' not in sys.abiflags; "
    "print((getattr(sys, '_base_executable', None) or sys.executable) if fit else '')"
)


def say(words: str) -> None:
    """Tells on stderr what is being done."""
    print("hardstand: " + words, file=sys.stderr, flush=True)


def give_up(words: str) -> NoReturn:
    """Says why it cannot go on, and ends."""
    say(words)
    sys.exit(NEEDS_SOMETHING)


def _runs(command: Sequence[str], **environment: str) -> bool:
    """Runs a program and tells whether it succeeded. Its talk goes to stderr: stdout belongs to the command that was asked for."""
    values = {**os.environ, **environment}
    done = subprocess.run(command, check=False, cwd=str(ROOT), env=values, stdin=subprocess.DEVNULL, stdout=sys.stderr)
    return done.returncode == 0


def _answer(command: Sequence[str]) -> Optional[str]:
    """What a program prints, or None where it does not run. pyenv's shims of unselected versions exist and exit 127."""
    try:
        done = subprocess.run(
            command, check=False, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, encoding="utf-8", timeout=30
        )
    except (OSError, subprocess.TimeoutExpired):
        return None
    return done.stdout.strip() if done.returncode == 0 else None


# ---------------------------------------------------------------- what the command line asks for


def read_arguments(argv: Sequence[str]) -> List[str]:
    """The arguments without `--demo`, which is put into the environment before any settings are read.

    `demo` always means the demo's own data, whatever DATABASE_URL says. pytest keeps all its arguments.
    """
    command = argv[1] if len(argv) > 1 else ""
    if command == "test":
        return list(argv)
    if command == "demo" or "--demo" in argv[1:]:
        os.environ["HARDSTAND_DEMO"] = "1"
        os.environ.pop("DATABASE_URL", None)
    return [argument for argument in argv if argument != "--demo"]


# ---------------------------------------------------------------- what cannot come from the package index


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _has_liberation() -> bool:
    folders = ("/usr/share/fonts", "/usr/local/share/fonts", "~/.local/share/fonts", "~/.fonts")
    return any("LiberationSans-Regular.ttf" in files for folder in folders for _, _, files in os.walk(os.path.expanduser(folder)))


def postgresql_programs() -> Optional[str]:
    """The folder of the newest PostgreSQL server's programs, or None. Debian keeps them off PATH."""
    found = max(glob.glob("/usr/lib/postgresql/*/bin/initdb"), key=lambda path: float(path.split("/")[4]), default=shutil.which("initdb"))
    return os.path.dirname(os.path.realpath(found)) if found else None


# Debian's package: is it here? Asked of the thing itself, so that other systems and hand-made installs count too.
FOR_PAPERS: Dict[str, Callable[[], bool]] = {
    "libpango-1.0-0": lambda: _loads("libpango-1.0.so.0"),
    "libpangoft2-1.0-0": lambda: _loads("libpangoft2-1.0.so.0"),
    "libharfbuzz-subset0": lambda: _loads("libharfbuzz-subset.so.0"),
    "fonts-liberation": _has_liberation,
}
FOR_TESTS: Dict[str, Callable[[], bool]] = {
    "chromium": lambda: shutil.which("chromium") is not None,
    "postgresql": lambda: postgresql_programs() is not None,
    "hledger": lambda: shutil.which("hledger") is not None,
    "ledger": lambda: shutil.which("ledger") is not None,
    "poppler-utils": lambda: shutil.which("pdftotext") is not None,
}


def missing_packages(for_tests: bool) -> List[str]:
    """Names of Debian packages that are needed and not here."""
    needed = {**FOR_PAPERS, **FOR_TESTS} if for_tests else FOR_PAPERS
    return [package for package, is_here in needed.items() if not is_here()]


def install_packages(packages: Sequence[str]) -> None:
    """Installs them when root. Otherwise prints the one line that does, and exits 2."""
    if not packages:
        return
    names = " ".join(packages)
    if shutil.which("apt-get") is None:
        give_up("this needs (by their Debian names): " + names + ". Install them and run this again.")
    if os.geteuid() != 0:
        say("Debian packages are missing. Run this line once, then the same command again:")
        print("sudo apt-get update && sudo apt-get install -y --no-install-recommends " + names, flush=True)
        sys.exit(NEEDS_SOMETHING)
    say("installing Debian packages: " + names)
    install = ["apt-get", "install", "-q", "-y", "--no-install-recommends", "-o", "DPkg::Lock::Timeout=300", *packages]
    for command in (["apt-get", "update", "-q"], install):
        if not _runs(command, DEBIAN_FRONTEND="noninteractive"):
            give_up("Debian's packages could not be installed; the words above say why. It failed at: " + " ".join(command))


# ---------------------------------------------------------------- a Python and uv


def candidates() -> Iterator[str]:
    """Where a Python may be, the likeliest first: the one in use, the one that started us, PATH, pyenv, one fetched before."""
    yield str(VENV / "bin/python")
    yield sys.executable
    for name in ("python3", "python3.13", "python3.14", "python3.12", "python3.15"):
        yield name
    pyenv = os.environ.get("PYENV_ROOT") or os.path.expanduser("~/.pyenv")
    yield from sorted(glob.glob(pyenv + "/versions/3.1[2-9]*/bin/python"), reverse=True)
    yield from sorted(glob.glob(str(VAR / "python/*/bin/python3")), reverse=True)


def find_python() -> Optional[str]:
    """The first candidate that runs and is 3.12 or newer, as the path of the interpreter itself; None where there is none."""
    for candidate in candidates():
        found = _answer([candidate, "-I", "-c", PROBE])
        if found:
            return found
    return None


def find_uv() -> Optional[str]:
    """A uv that runs: the machine's, else our own under var/uv. None where there is neither."""
    for candidate in ("uv", str(VAR / "uv/bin/uv")):
        if _answer([candidate, "--version"]) is not None:
            return candidate
    return None


def find_venv_maker(python: Optional[str]) -> Optional[str]:
    """A Python of any version that can make an environment with pip in it. Debian's bare python3 cannot: ensurepip is split off."""
    for candidate in (python, sys.executable, "/usr/bin/python3"):
        if candidate and _answer([candidate, "-I", "-c", "import ensurepip, venv"]) is not None:
            return candidate
    return None


def make_uv(maker: str) -> str:
    """Installs uv into an environment of its own under var/uv and returns its path. The system's Python is left alone."""
    say("installing uv into var/uv")
    home = VAR / "uv"
    for command in (
        [maker, "-m", "venv", "--clear", str(home)],
        [str(home / "bin/python"), "-m", "pip", "install", "-q", "--disable-pip-version-check", UV],
    ):
        if not _runs(command):
            give_up("uv could not be installed; the words above say why. It comes from the Python package index.")
    return str(home / "bin/uv")


def fetch_python(uv: str) -> str:
    """Lets uv fetch an interpreter into var/python and returns its path."""
    say("no Python 3.12 or newer runs here; asking uv for " + FETCHED_PYTHON)
    fetched = _runs([uv, "python", "install", "--no-bin", FETCHED_PYTHON], UV_PYTHON_INSTALL_DIR=str(VAR / "python"))
    python = find_python() if fetched else None
    if python is None:
        give_up("no Python 3.12 or newer is here and none could be fetched (uv says why above). Install one, for example with pyenv.")
    return python


# ---------------------------------------------------------------- the environment


def read_stamp() -> Dict[str, object]:
    """What the last complete preparation wrote; empty where there was none."""
    try:
        return dict(json.loads(STAMP.read_text()))
    except (OSError, ValueError, TypeError):
        return {}


def expected_stamp(dev: bool) -> Dict[str, object]:
    """What the stamp says when the environment fits the lock file, the folder and the interpreter."""
    lock = hashlib.sha256(LOCK.read_bytes()).hexdigest()
    return {"lock": lock, "dev": dev, "folder": str(VENV), "python": os.path.realpath(str(VENV / "bin/python"))}


def in_place(dev: bool) -> bool:
    """True when nothing has to be done. An environment with the packages for tests also serves every other command."""
    stamp = read_stamp()
    has_dev = stamp.get("dev") is True
    witness = "pytest" if dev else "django"  # somebody may have emptied the folder
    return (
        (has_dev or not dev)
        and stamp == expected_stamp(has_dev)
        and os.path.exists(str(stamp["python"]))
        and bool(glob.glob(str(VENV / "lib/python3*/site-packages" / witness / "__init__.py")))
    )


def clear_venv() -> None:
    """Takes .venv away, whatever it is."""
    if VENV.is_symlink() or VENV.is_file():
        VENV.unlink()
    shutil.rmtree(str(VENV), ignore_errors=True)


def sync(uv: str, python: str, dev: bool) -> None:
    """Brings .venv to the state of the lock file. One that was cut off half-way, or does not run, is begun again from nothing."""
    unfinished = VAR / "unfinished"
    dev = dev or read_stamp().get("dev") is True
    if unfinished.exists() or read_stamp().get("folder", str(VENV)) != str(VENV):
        clear_venv()
    unfinished.touch()
    command = [uv, "sync", "--frozen", *(["--group", "dev"] if dev else ["--no-dev", "--inexact"])]
    choice = {"UV_PYTHON": python, "UV_PYTHON_DOWNLOADS": "never", "UV_PROJECT_ENVIRONMENT": str(VENV), "VIRTUAL_ENV": str(VENV)}
    say("putting the packages of uv.lock into .venv" + (" (with those for tests)" if dev else ""))
    for last in (False, True):
        done = _runs(command, **choice)
        if done:
            STAMP.write_text(json.dumps(expected_stamp(dev)))
        no_network = not done and _answer([str(VENV / "bin/python"), "-c", ""]) is not None
        if last or no_network or in_place(dev):
            break
        say("what is in .venv does not run; once more from nothing")
        clear_venv()
    unfinished.unlink()
    if not in_place(dev):
        give_up("the packages could not be installed; uv's words are above.")


def make_ready(dev: bool) -> None:
    """Does what is missing, and only that. Exits with a sentence where it cannot."""
    VAR.mkdir(exist_ok=True)
    with open(str(VAR / "bootstrap.lock"), "w") as turn:
        fcntl.flock(turn, fcntl.LOCK_EX)  # two commands at once: the second waits and finds all done
        packages = missing_packages(dev)
        if in_place(dev):
            install_packages(packages)
            return
        python, uv = find_python(), find_uv()
        maker = uv or find_venv_maker(python)
        install_packages(packages if maker else ["python3-venv", *packages])
        uv = uv or make_uv(maker or sys.executable)
        sync(uv, python or fetch_python(uv), dev)


def prepare(argv: Sequence[str]) -> List[str]:
    """The arguments for the command, once this process runs under .venv's Python with all that the command needs."""
    arguments = read_arguments(argv)
    dev = arguments[1:2] == ["test"]
    unready = bool(missing_packages(dev)) or not in_place(dev)
    if unready:
        make_ready(dev)
    if unready or os.path.realpath(sys.prefix) != os.path.realpath(str(VENV)):
        python = str(VENV / "bin/python")
        sys.stdout.flush()
        os.execv(python, [python, *argv])
    return arguments


if __name__ == "__main__":
    make_ready(dev=True)  # what .ci/run needs before it can check anything
