"""The first file that a bare machine runs. What Debian splits off and where pyenv keeps versions: common practice, seen on both Debians."""

import ast
import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from workshop import bootstrap

SOURCE = Path(bootstrap.__file__)
Program = Callable[[str, str], str]


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a lock file and nothing else, on a machine that lacks nothing."""
    (tmp_path / "uv.lock").write_text("version = 1\n")
    (tmp_path / "var").mkdir()
    venv = tmp_path / ".venv"
    places = {"ROOT": tmp_path, "VENV": venv, "STAMP": venv / "hardstand.json", "VAR": tmp_path / "var", "LOCK": tmp_path / "uv.lock"}
    for name, place in places.items():
        monkeypatch.setattr(bootstrap, name, place)
    monkeypatch.setattr(bootstrap, "missing_packages", lambda for_tests: [])
    return tmp_path


@pytest.fixture
def program(tmp_path: Path) -> Program:
    """Writes a small shell program and returns its path."""

    def write(name: str, body: str) -> str:
        path = tmp_path / name
        path.write_text(f"#!/bin/sh\n{body}\n")
        path.chmod(0o755)
        return str(path)

    return write


def fill(venv: Path, *packages: str) -> None:
    """An environment such as uv leaves it."""
    (venv / "bin").mkdir(parents=True, exist_ok=True)
    if not (venv / "bin/python").exists():
        (venv / "bin/python").symlink_to(sys.executable)
    for package in packages:
        folder = venv / "lib/python3.13/site-packages" / package
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "__init__.py").touch()


@pytest.fixture
def synced(bare: Path, monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, ...]]:
    """Every program that bootstrap runs, with a stand-in for uv that fills the environment."""
    calls: list[tuple[str, ...]] = []

    def runs(command: list[str], **environment: str) -> bool:
        calls.append(tuple(command))
        assert environment["UV_PROJECT_ENVIRONMENT"] == str(bare / ".venv")
        fill(bare / ".venv", "django", *(["pytest"] if "dev" in command else []))
        return True

    monkeypatch.setattr(bootstrap, "find_uv", lambda: "uv")
    monkeypatch.setattr(bootstrap, "_runs", runs)
    return calls


# ---------------------------------------------------------------- the file itself


def test_python_3_9_can_read_it() -> None:
    tree = ast.parse(SOURCE.read_text(), feature_version=(3, 9))
    annotations = [node.annotation for node in ast.walk(tree) if isinstance(node, ast.arg | ast.AnnAssign)]
    annotations += [node.returns for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    for annotation in filter(None, annotations):
        assert not any(isinstance(part, ast.BinOp) for part in ast.walk(annotation)), "X | None is read by 3.10 and newer only"


@pytest.mark.parametrize("path", [SOURCE, SOURCE.parent / "__init__.py"])
def test_only_the_standard_library_is_imported(path: Path) -> None:
    tree = ast.parse(path.read_text())
    names = [alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names]
    names += [node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    assert {name.split(".")[0] for name in names} <= sys.stdlib_module_names


def test_manage_py_imports_django_only_once_it_is_there() -> None:
    tree = ast.parse((SOURCE.parent.parent / "manage.py").read_text(), feature_version=(3, 9))
    above = [node for node in tree.body if isinstance(node, ast.Import | ast.ImportFrom)]
    assert [ast.unparse(node) for node in above] == ["import os", "import sys", "from workshop import bootstrap"]


# ---------------------------------------------------------------- a Python


def test_a_python_is_tried_by_running_it(monkeypatch: pytest.MonkeyPatch, program: Program) -> None:
    shim = program("shim", "exit 127")
    old = program("old", "echo")  # the probe of a Python that is too old prints nothing
    monkeypatch.setattr(bootstrap, "candidates", lambda: iter(["no/such/python", shim, old, sys.executable]))
    found = bootstrap.find_python()
    assert found is not None
    assert subprocess.check_output([found, "-c", "import sys; print(sys.prefix == sys.base_prefix)"]) == b"True\n"


def test_no_python_at_all(monkeypatch: pytest.MonkeyPatch, program: Program) -> None:
    monkeypatch.setattr(bootstrap, "candidates", lambda: iter([program("shim", "exit 127")]))
    assert bootstrap.find_python() is None


@pytest.mark.parametrize(
    ("version", "level", "flags", "fits"),
    [((3, 11), "final", "", 0), ((3, 12), "final", "", 1), ((3, 15), "alpha", "", 0), ((3, 14), "final", "t", 0), ((4, 0), "final", "", 1)],
)
def test_which_python_fits(version: tuple[int, int], level: str, flags: str, fits: bool, capsys: pytest.CaptureFixture[str]) -> None:
    """Free-threaded builds carry a t in sys.abiflags (PEP 703)."""

    class Version(tuple[int, int]):
        releaselevel = level

    class Fake:
        version_info, abiflags, executable, _base_executable = Version(version), flags, "python", "python"
        implementation = type("implementation", (), {"name": "cpython"})

    exec(bootstrap.PROBE.removeprefix("import sys; "), {"sys": Fake})
    assert capsys.readouterr().out == ("python\n" if fits else "\n")


def test_pyenvs_versions_are_looked_for_where_they_lie(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for version in ("3.9.18", "3.12.1", "3.13.0"):
        (tmp_path / "versions" / version / "bin").mkdir(parents=True)
        (tmp_path / "versions" / version / "bin/python").touch()
    monkeypatch.setenv("PYENV_ROOT", str(tmp_path))
    found = [path for path in bootstrap.candidates() if path.startswith(str(tmp_path))]
    assert [Path(path).parts[-3] for path in found] == ["3.13.0", "3.12.1"]


def test_a_python_that_cannot_be_fetched_is_said_plainly(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(bootstrap, "_runs", lambda command, **environment: False)
    with pytest.raises(SystemExit) as ended:
        bootstrap.fetch_python("uv")
    assert ended.value.code == 2
    assert "Install one" in capsys.readouterr().err


# ---------------------------------------------------------------- Debian's packages


def test_an_ordinary_user_gets_one_line_and_status_2(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: "/usr/bin/" + name)
    monkeypatch.setattr(bootstrap, "_runs", lambda *_, **__: pytest.fail("nothing is run"))
    with pytest.raises(SystemExit) as ended:
        bootstrap.install_packages(["python3-venv", "chromium"])
    assert ended.value.code == 2
    line = "sudo apt-get update && sudo apt-get install -y --no-install-recommends python3-venv chromium\n"
    assert capsys.readouterr().out == line


def test_root_installs_without_a_question_and_nothing_on_stdout(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    calls: list[tuple[list[str], dict[str, str]]] = []
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(bootstrap.shutil, "which", lambda name: "/usr/bin/" + name)
    monkeypatch.setattr(bootstrap, "_runs", lambda command, **environment: calls.append((command, environment)) or True)
    bootstrap.install_packages(["chromium"])
    assert [command[:2] for command, _ in calls] == [["apt-get", "update"], ["apt-get", "install"]]
    assert all(environment == {"DEBIAN_FRONTEND": "noninteractive"} for _, environment in calls)
    assert calls[1][0][-1] == "chromium"
    assert capsys.readouterr().out == ""


def test_tests_need_more_than_papers() -> None:
    assert list(bootstrap.FOR_TESTS) == ["chromium", "postgresql", "hledger", "ledger", "poppler-utils"]
    assert bootstrap.missing_packages(for_tests=True) == [], "this run needs them itself"


def test_a_library_that_is_not_there() -> None:
    assert not bootstrap._loads("libno-such-thing.so.0")


def test_without_pip_for_uv_python3_venv_is_in_the_line(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[list[str]] = []
    monkeypatch.setattr(bootstrap, "find_uv", lambda: None)
    monkeypatch.setattr(bootstrap, "find_venv_maker", lambda python: None)
    monkeypatch.setattr(bootstrap, "missing_packages", lambda for_tests: ["fonts-liberation"])

    def install(packages: list[str]) -> None:
        asked.append(packages)
        sys.exit(2)

    monkeypatch.setattr(bootstrap, "install_packages", install)
    with pytest.raises(SystemExit):
        bootstrap.make_ready(dev=False)
    assert asked == [["python3-venv", "fonts-liberation"]]


# ---------------------------------------------------------------- the environment


def test_nothing_is_done_twice(synced: list[tuple[str, ...]]) -> None:
    bootstrap.make_ready(dev=False)
    bootstrap.make_ready(dev=False)
    assert synced == [("uv", "sync", "--frozen", "--no-dev", "--inexact")]


def test_test_after_demo_adds_the_packages_for_tests_and_demo_after_test_keeps_them(synced: list[tuple[str, ...]], bare: Path) -> None:
    bootstrap.make_ready(dev=False)
    assert not bootstrap.in_place(dev=True)
    bootstrap.make_ready(dev=True)
    bootstrap.make_ready(dev=False)
    (bare / "uv.lock").write_text("version = 2\n")
    bootstrap.make_ready(dev=False)
    assert [call[3:] for call in synced] == [("--no-dev", "--inexact"), ("--group", "dev"), ("--group", "dev")]


@pytest.mark.parametrize("what", ["lock file", "interpreter", "packages", "stamp", "folder"])
def test_the_stamp_notices(what: str, synced: list[tuple[str, ...]], bare: Path) -> None:
    bootstrap.make_ready(dev=False)
    stamp = bare / ".venv/hardstand.json"
    match what:
        case "lock file":
            (bare / "uv.lock").write_text("version = 2\n")
        case "interpreter":
            (bare / ".venv/bin/python").unlink()
            (bare / ".venv/bin/python").symlink_to(bare / "gone")
        case "packages":
            (bare / ".venv/lib/python3.13/site-packages/django/__init__.py").unlink()
        case "stamp":
            stamp.write_text('["half a fi')
        case "folder":
            stamp.write_text(json.dumps({**json.loads(stamp.read_text()), "folder": "/elsewhere/.venv"}))
    assert not bootstrap.in_place(dev=False)


def test_packages_that_uv_believes_in_and_nobody_finds_are_put_in_again(
    synced: list[tuple[str, ...]], bare: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bootstrap.make_ready(dev=False)
    (bare / ".venv/lib/python3.13/site-packages/django/__init__.py").unlink()
    fills = bootstrap._runs

    def runs(command: list[str], **environment: str) -> bool:  # uv looks at its lists, not at the files
        return True if (bare / ".venv").exists() else fills(command, **environment)

    monkeypatch.setattr(bootstrap, "_runs", runs)
    bootstrap.make_ready(dev=False)
    assert bootstrap.in_place(dev=False)


def test_an_attempt_that_was_cut_off_is_begun_from_nothing(synced: list[tuple[str, ...]], bare: Path) -> None:
    fill(bare / ".venv", "half-a-package")
    (bare / "var/unfinished").touch()
    bootstrap.make_ready(dev=False)
    assert not list((bare / ".venv").rglob("half-a-package"))
    assert not (bare / "var/unfinished").exists()


def test_an_environment_that_runs_outlives_a_day_without_network(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fill(bare / ".venv", "django")
    monkeypatch.setattr(bootstrap, "_runs", lambda command, **environment: False)
    with pytest.raises(SystemExit):
        bootstrap.sync("uv", sys.executable, dev=False)
    assert (bare / ".venv/lib/python3.13/site-packages/django").exists()
    assert not (bare / "var/unfinished").exists()


def test_a_broken_environment_is_made_anew_once(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (bare / ".venv").write_text("not even a folder")
    calls: list[bool] = []

    def runs(command: list[str], **environment: str) -> bool:
        calls.append((bare / ".venv").exists())
        return False

    monkeypatch.setattr(bootstrap, "_runs", runs)
    with pytest.raises(SystemExit):
        bootstrap.sync("uv", sys.executable, dev=False)
    assert calls == [True, False]


# ---------------------------------------------------------------- the command line


@pytest.mark.parametrize(
    ("argv", "given_on", "demo"),
    [
        (["manage.py", "demo", "--port", "8010"], ["manage.py", "demo", "--port", "8010"], True),
        (["manage.py", "verify", "--demo"], ["manage.py", "verify"], True),
        (["manage.py", "verify"], ["manage.py", "verify"], False),
        (["manage.py", "test", "--demo"], ["manage.py", "test", "--demo"], False),
        (["manage.py"], ["manage.py"], False),
    ],
)
def test_which_data_a_command_acts_on(argv: list[str], given_on: list[str], demo: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "environ", {"DATABASE_URL": "postgresql://real/books"})
    assert bootstrap.read_arguments(argv) == given_on
    assert ("HARDSTAND_DEMO" in os.environ) is demo
    assert ("DATABASE_URL" in os.environ) is not demo
