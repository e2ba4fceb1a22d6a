"""The runner of the suite: which legs run, what closes them, and that CI lets nothing be skipped. Exit codes: docs.pytest.org."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from workshop import testing

COUNTS = {"passed": 1, "failed": 0, "error": 0, "skipped": 0, "xfailed": 0, "xpassed": 0}


def legs_run(
    monkeypatch: pytest.MonkeyPatch,
    selected: dict[str, int],
    codes: dict[str, int] | None = None,
    arguments: tuple[str, ...] = ("tests/some",),
) -> tuple[int, list[str]]:
    """Runs with pytest replaced. Returns the exit status and the names of the legs."""
    names: list[str] = []

    def run_leg(leg: testing.Leg, arguments: list[str], folder: Path, url: str, out: object = None) -> tuple[int, dict[str, int]]:
        names.append(leg.name)
        assert bool(url) == leg.on_postgresql
        return (codes or {}).get(leg.name, 0), {**COUNTS, **selected}

    monkeypatch.setattr(testing, "run_leg", run_leg)
    monkeypatch.setattr(testing.signal, "signal", lambda *_: None)
    monkeypatch.setattr(testing.PostgreSQL, "url", lambda self: "postgresql://")
    return testing.run(arguments), names


def test_every_leg_runs_when_nothing_is_selected(monkeypatch: pytest.MonkeyPatch) -> None:
    all_of_it = {"plain": 400, "plain-db": 200, "browser": 9, "browser-db": 2}
    every = ["SQLite", "PostgreSQL", "Chromium", "Chromium-PostgreSQL"]
    assert legs_run(monkeypatch, all_of_it) == (0, every)
    status, names = legs_run(monkeypatch, all_of_it, {"PostgreSQL": 1}, arguments=())
    assert (status, sorted(names[:2]), sorted(names[2:])) == (1, sorted(every[:2]), sorted(every[2:]))


def test_a_selection_that_touches_no_database_runs_once(monkeypatch: pytest.MonkeyPatch) -> None:
    assert legs_run(monkeypatch, {"plain": 12, "plain-db": 0, "browser": 0}) == (0, ["SQLite"])


def test_a_selected_journey_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    assert legs_run(monkeypatch, {"plain": 0, "browser": 1}, {"SQLite": 5}) == (0, ["SQLite", "Chromium"])


def test_nothing_selected_at_all_is_no_success(monkeypatch: pytest.MonkeyPatch) -> None:
    assert legs_run(monkeypatch, {"plain": 0}, {"SQLite": 5})[0] == 5


def test_one_failing_leg_fails_the_run_and_the_others_still_run(monkeypatch: pytest.MonkeyPatch) -> None:
    assert legs_run(monkeypatch, {"plain": 2, "plain-db": 2, "browser": 1}, {"SQLite": 1}) == (1, ["SQLite", "PostgreSQL", "Chromium"])


def test_a_closing_line_counts_errors_and_skips() -> None:
    line = testing.summary(testing.LEGS[0], 1, {**COUNTS, "passed": 410, "failed": 1, "error": 1, "skipped": 3}, 12.0)
    assert line == "SQLite: 410 passed, 2 failed, 3 skipped"


def test_tests_never_see_a_business(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("HARDSTAND_SECRET_KEY", "real")
    monkeypatch.setenv("HARDSTAND_DEMO", "1")
    monkeypatch.setenv("DATABASE_URL", "postgresql://real/books")
    seen = testing.environment(tmp_path, "")
    assert {name for name in seen if name.startswith("HARDSTAND_")} == {"HARDSTAND_TEST", "HARDSTAND_DATA"}
    assert "DATABASE_URL" not in seen


# ---------------------------------------------------------------- tests/plugins.py, in a pytest of its own

SUITE = """
import pytest
def test_runs(): pass
@pytest.mark.skip(reason="not today")
def test_skipped(): pass
@pytest.mark.xfail(reason="known")
def test_expected(): assert False
@pytest.mark.django_db
def test_stored(): pass
@pytest.mark.django_db
@pytest.mark.sqlite_only
def test_pragma(): pass
@pytest.mark.browser
def test_seen(): pass
@pytest.mark.browser
@pytest.mark.both_databases
def test_seen_twice(): pass
"""


def pytest_in(folder: Path, *options: str, ci: str = "") -> tuple[int, dict[str, int], str]:
    """Runs the small suite in a pytest of its own. Returns exit status, counts and output."""
    (folder / "test_small.py").write_text(SUITE)
    (folder / "pytest.ini").write_text("[pytest]\nmarkers =\n    browser\n    both_databases\n    django_db\n")
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "tests.plugins",
        "-c",
        "pytest.ini",
        "--rootdir=.",
        "--tally=tally.json",
        *options,
    ]
    surroundings = {**testing.environment(folder, ""), "PYTHONPATH": str(testing.ROOT)}
    surroundings.update(CI=ci, PYTEST_DISABLE_PLUGIN_AUTOLOAD="1")
    done = subprocess.run([*command, "test_small.py"], check=False, cwd=folder, env=surroundings, capture_output=True, text=True)
    return done.returncode, json.loads((folder / "tally.json").read_text()), done.stdout


def test_a_skip_is_allowed_at_a_desk_and_a_failure_in_ci(tmp_path: Path) -> None:
    options = ("--only=plain", "-k", "not stored and not pragma")
    code, counts, _ = pytest_in(tmp_path, *options)
    assert (code, counts["passed"], counts["skipped"], counts["xfailed"]) == (0, 1, 1, 1)
    code, counts, output = pytest_in(tmp_path, *options, ci="true")
    assert (code, counts["passed"], counts["failed"] + counts["error"], counts["skipped"], counts["xfailed"]) == (1, 1, 2, 0, 0)
    assert "CI is set" in output


def test_a_module_that_skips_itself_fails_in_ci(tmp_path: Path) -> None:
    (tmp_path / "test_whole.py").write_text("import pytest\npytest.importorskip('no_such_module')\n")
    assert pytest_in(tmp_path, "-k", "runs", "test_whole.py", ci="true")[0] != 0


def test_legs_divide_the_suite(tmp_path: Path) -> None:
    _, counts, output = pytest_in(tmp_path, "--only=plain", "--only-db", "-vv")
    assert {name: counts[name] for name in ("plain", "plain-db", "browser", "browser-db")} == {
        "plain": 5,
        "plain-db": 1,
        "browser": 2,
        "browser-db": 1,
    }
    assert [line.split()[0] for line in output.splitlines() if "::" in line] == ["test_small.py::test_stored"]
