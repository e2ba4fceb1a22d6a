"""How the suite is cut into legs (workshop/testing.py runs them) and held to its word: with CI set, a skip is a failure.

--only plain|browser  the items of one leg; --only-db  of those, what must also run on PostgreSQL; --tally FILE  counts, as JSON.
"""

import json
import os
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

DATABASE_FIXTURES = {"db", "transactional_db", "django_db_reset_sequences", "django_db_serialized_rollback", "live_server"}
BROWSER_FIXTURES = {"browser", "context", "page", "new_context"}
BROWSER_FOLDERS = {"browser", "journeys"}
NO_SKIPS = os.environ.get("CI", "").lower() not in {"", "0", "false"}
TALLY = pytest.StashKey[Counter[str]]()


def pytest_addoption(parser: pytest.Parser) -> None:
    group = parser.getgroup("legs")
    group.addoption("--only", choices=["plain", "browser"], help="only tests without, or only those with, a browser")
    group.addoption(
        "--only-db", action="store_true", help="only tests that touch the database; of browser tests those marked both_databases"
    )
    group.addoption("--tally", type=Path, help="file that gets the counts of this run as JSON")


def pytest_configure(config: pytest.Config) -> None:
    config.stash[TALLY] = Counter()
    config.addinivalue_line("markers", "sqlite_only: is about SQLite itself, so that PostgreSQL has nothing to say to it")


def in_browser(item: pytest.Item) -> bool:
    """By place, by mark or by what it asks for."""
    folder = item.path.relative_to(Path(__file__).parent).parts[0] if item.path.is_relative_to(Path(__file__).parent) else ""
    return folder in BROWSER_FOLDERS or item.get_closest_marker("browser") is not None or bool(BROWSER_FIXTURES & fixtures(item))


def fixtures(item: pytest.Item) -> set[str]:
    """Names of all fixtures that a test asks for, also through others."""
    return set(getattr(item, "fixturenames", ()))


def on_both_databases(item: pytest.Item) -> bool:
    """Whether PostgreSQL must see it too. A journey takes long, so that it says so itself."""
    if item.get_closest_marker("sqlite_only"):
        return False
    if in_browser(item):
        return item.get_closest_marker("both_databases") is not None
    return (
        item.get_closest_marker("django_db") is not None
        or item.get_closest_marker("both_databases") is not None
        or bool(DATABASE_FIXTURES & fixtures(item))
        or any(base.__module__.startswith("django.test") for base in getattr(getattr(item, "cls", None), "__mro__", ()))
    )


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Counts what paths, -k and -m left for each leg, then keeps this leg's."""
    kept, dropped = [], []
    for item in items:
        leg = "browser" if in_browser(item) else "plain"
        both = on_both_databases(item)
        config.stash[TALLY][leg] += 1
        config.stash[TALLY][leg + "-db"] += both
        wanted = config.option.only in {None, leg} and (both or not config.option.only_db)
        (kept if wanted else dropped).append(item)
    if dropped:
        config.hook.pytest_deselected(items=dropped)
        items[:] = kept


def _refuse_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    expected = hasattr(report, "wasxfail")
    if NO_SKIPS and (report.skipped or expected):
        what = "is expected to fail" if expected else "was skipped"
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid} {what}, and CI is set: here everything runs.\n{report.longrepr or ''}"
        vars(report).pop("wasxfail", None)


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_makereport() -> Iterator[None]:
    report = yield
    _refuse_skip(report)
    return report


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_make_collect_report() -> Iterator[None]:
    report = yield
    _refuse_skip(report)
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Leaves the counts for the runner's closing lines."""
    if config.option.tally:
        stats = terminalreporter.stats
        counts = {name: len(stats.get(name, ())) for name in ("passed", "failed", "error", "skipped", "xfailed", "xpassed")}
        config.option.tally.write_text(json.dumps({**config.stash[TALLY], **counts}))
