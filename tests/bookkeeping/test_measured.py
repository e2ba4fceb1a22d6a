"""What an export costs, against a bare cursor and csv writer over the same postings in the same run; and the same bytes after a restart."""

import datetime as dt
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.bookkeeping import many
from tests.homes import django, place, script
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.actions import batch as files
from workshop.bookkeeping.actions.rows import About, cases_of
from workshop.bookkeeping.models import Batch
from workshop.history.actions import Actor

POSTINGS = 20_000
NOVEMBER = (dt.date(2026, 11, 1), dt.date(2026, 11, 30))
ADA = Actor.system("Ada Quillfeather")
ROUNDS = 5


def cheapest(work: Callable[[], object]) -> int:
    """The least CPU time of some rounds, in nanoseconds."""
    spent = []
    for _ in range(ROUNDS):
        begun = time.process_time_ns()
        work()
        spent.append(time.process_time_ns() - begun)
    return min(spent)


def peak(work: Callable[[], object]) -> int:
    """The most bytes that Python held at once while it worked."""
    tracemalloc.start()
    work()
    held = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return held


@pytest.mark.slow
@pytest.mark.sqlite_only  # the work in Python is the same on both
@pytest.mark.django_db
@pytest.mark.usefixtures("company", "held_clock")
def test_a_table_costs_at_most_half_more_than_a_bare_cursor_and_memory_is_flat(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By hand with 100,000 postings: see the commit that brought this test."""
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    many.fill(POSTINGS)
    seen = queries.preview(*NOVEMBER)
    cases = cases_of(seen, queries.Mapping())
    about = About(1, "title", "EUR", "2026-11-02", tuple(name for name, _ in seen.accounts), "")
    with monkeypatch.context() as only:
        only.setattr(files, "FILES", [each for each in files.FILES if each[0].endswith(".csv")])
        table = cheapest(lambda: files._stream(tmp_path, about, seen, cases))
    bare = cheapest(lambda: many.bare(tmp_path / "bare.csv"))
    assert many.bare(tmp_path / "bare.csv") == seen.postings == POSTINGS
    assert table <= 1.5 * bare, f"the table {table:,} ns, bare {bare:,} ns"
    assert peak(lambda: actions.write_batch(ADA, *NOVEMBER)) < 12_000_000
    assert list(queries.problems()) == []
    assert Batch.objects.get().entries.count() == POSTINGS // 4
    again = cheapest(lambda: actions.export_books(ADA, *NOVEMBER, tmp_path / "again"))
    assert again < bare


WRITE = """
import datetime as dt
from tests.bookkeeping import many
from workshop.bookkeeping import actions, queries
from workshop.company import actions as company
from workshop.history.actions import Actor
actor = Actor.system("Ada Quillfeather")
about = {name: "x" for name in ("name", "address", "phone", "licence_line", "tax_number", "bank_details")}
company.set_up(actor, **about, email="ada@quillfeather.example", tax_profile_name="vellmark")
actions.write_mapping(queries.suggested_accounts("vellmark"))
many.fill(40)
"""


@pytest.mark.slow
@pytest.mark.both_databases
def test_a_month_is_the_same_bytes_after_a_restart(tmp_path: Path) -> None:
    """Two processes, one after the other, lay the same month out."""
    with place(tmp_path / "place") as surroundings:
        django(surroundings, "migrate", "-v0")
        assert script(surroundings, WRITE).wait() == 0
        laid = []
        for name in ("one", "two"):
            out = tmp_path / name
            django(surroundings, "export_books", "--from", "2026-11-01", "--to", "2026-11-30", "--out", str(out))
            laid.append({path.relative_to(out): path.read_bytes() for path in out.rglob("*") if path.is_file()})
    assert laid[0] == laid[1]
    assert len(laid[0]) == 6
