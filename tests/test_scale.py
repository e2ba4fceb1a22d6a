"""A business of very many cards asks no more of the database for one page than one of a thousand.

Here up to 3,000, for time. With MANY = 100_000 (six minutes) every page took exactly as many instructions as with 1,000."""

import re
import uuid
from collections.abc import Callable

import pytest
from django.db import connection
from django.db.models import Max
from django.test import Client
from django.test.utils import CaptureQueriesContext

from workshop import clock
from workshop.book import actions as book
from workshop.customers.models import Party
from workshop.inspections.models import Finding
from workshop.jobs.models import Card, CardStep, Complaint, Line, LinePart, Note, Role
from workshop.upkeep import stock
from workshop.vehicles.models import Meter, Owner, Reading, Vehicle

FEW, MANY = 1_000, 3_000
# One row, one a year, or what is left standing at this moment (a partial index).
SMALL = {"company_company", "company_rate", "company_taxrate", "history_head", "book_mark", "jobs_leaving"}
MOST_TIMES = 1.05  # of the instructions that SQLite's machine takes


def instructions(ask: Callable[[], object]) -> int:
    """How many instructions SQLite's machine takes, counted one by one (sqlite.org/c3ref/progress_handler.html)."""
    counted = [0]

    def one() -> int:
        counted[0] += 1
        return 0

    raw = connection.connection
    raw.set_progress_handler(one, 1)
    try:
        ask()
    finally:
        raw.set_progress_handler(None, 1)
    return counted[0]


def grow(count: int) -> None:
    """So many closed cards more, each of another vehicle with its owner, reading, complaint, line with a part, step, finding and note."""
    now = clock.now()
    start = max(model.objects.aggregate(last=Max("pk"))["last"] or 0 for model in (Vehicle, Party, Card, Line, Meter))
    ids = range(start + 1, start + count + 1)

    def write[T](model: type[T], row: Callable[[int], dict[str, object]]) -> None:
        model.objects.bulk_create((model(**row(pk)) for pk in ids), batch_size=2_000)  # type: ignore[attr-defined]

    write(Party, lambda n: {"pk": n, "name": f"Person{n:06d} Family{n % 97}"})
    write(Vehicle, lambda n: {"pk": n, "make": "Ostrel", "model": "Wander", "plate": f"VM {n:06d} Q", "vin": f"DEMV{n:013d}"})
    write(Owner, lambda n: {"vehicle_id": n, "party_id": n, "from_on": now.date()})
    write(Meter, lambda n: {"pk": n, "vehicle_id": n, "unit": "km"})
    write(Reading, lambda n: {"meter_id": n, "value": n, "read_at": now})
    write(Card, lambda n: {"pk": n, "vehicle_id": n, "number": f"25-{n:06d}", "opened_at": now, "state": "closed", "closed_at": now})
    write(Role, lambda n: {"card_id": n, "kind": "owner", "party_id": n})
    write(Complaint, lambda n: {"card_id": n, "words": "Squeals"})
    write(Line, lambda n: {"pk": n, "card_id": n, "number": 1, "kind": "failed", "words": "Belt", "own_minutes": 30})
    write(LinePart, lambda n: {"line_id": n, "words": "Belt", "amount": 20})
    write(CardStep, lambda n: {"card_id": n, "position": 1, "words": "Cover", "open_minutes": 5, "close_minutes": 5})
    write(
        Finding, lambda n: {"uid": uuid.UUID(int=n), "card_id": n, "place": "Front", "words": "Frayed", "condition": "act", "found_at": now}
    )
    write(Note, lambda n: {"card_id": n, "words": "Keys", "by": "Pip", "written_at": now, "received_at": now})


@pytest.mark.slow
@pytest.mark.sqlite_only  # counts the instructions of SQLite's machine and reads its plans
def test_a_hundred_thousand_cards_are_no_more_work_than_a_thousand(company: object, as_mechanic: Client) -> None:
    there = stock.fill(5)
    pages = (
        "/m/",
        f"/m/card/{there.card.pk}/",
        f"/vehicles/{there.card.vehicle_id}/",
        "/search/?q=churnholt",
        "/search/?q=person000017",
        "/search/?q=demo-1",
    )

    def opened(page: str) -> None:
        assert as_mechanic.get(page).status_code == 200

    grow(FEW)
    book.rebuild()
    few = {page: (opened(page), instructions(lambda page=page: opened(page)))[1] for page in pages}
    grow(MANY - FEW)
    book.rebuild()
    many = {page: instructions(lambda page=page: opened(page)) for page in pages}
    assert {page: (few[page], took) for page, took in many.items() if took > few[page] * MOST_TIMES} == {}
    with CaptureQueriesContext(connection) as asked:
        for page in pages:
            opened(page)
    assert [table for query in asked.captured_queries for table in read_whole(query["sql"]) if table not in SMALL] == []


def read_whole(sql: str) -> list[str]:
    """The tables that SQLite would read from end to end for a query (sqlite.org/eqp.html)."""
    if not sql.startswith("SELECT"):
        return []
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}")
        names = [row[3].split()[1] for row in cursor.fetchall() if row[3].startswith("SCAN ") and "CONSTANT" not in row[3]]
    aliases = {alias: table for table, alias in re.findall(r'"(\w+)" "?(\w+)"?', sql)}
    return [aliases.get(name, name) for name in names]
