"""Many invoices in the books without the papers around them, and the bare way to write a table, to compare with."""

import csv
import datetime as dt
import uuid
from pathlib import Path

from django.db import connection

from workshop.ledger.models import Entry, Posting

DAY = dt.date(2026, 11, 2)
SHAPE = (("receivable", "", "", 122_00), ("sales", "labour", "standard", -60_00), ("sales", "parts", "standard", -40_00))
SQL = """SELECT e.id, e.uid, p.position, e.dated_on, e.tax_point_on, e.source_kind, e.reference, e.words,
p.role, p.line_kind, p.tax_code, p.customer_kind, p.party_uid, a.name, p.amount
FROM ledger_posting p JOIN ledger_entry e ON e.id = p.entry_id
LEFT JOIN bookkeeping_account a ON a.role = p.role AND a.line_kind = p.line_kind AND a.tax_code = p.tax_code
ORDER BY e.dated_on, e.id, p.position"""


def fill(postings: int) -> None:
    """That many postings, four an entry, of a hundred customers, a few an hour over November."""
    parties = [uuid.uuid4() for _ in range(100)]
    at = dt.datetime(2026, 11, 25, 8, tzinfo=dt.UTC)
    for start in range(0, postings // 4, 2000):
        made = [_entry(number, at) for number in range(start, min(start + 2000, postings // 4))]
        Entry.objects.bulk_create(made)
        Posting.objects.bulk_create(row for each in made for row in _postings(each, parties[each.pk % 100]))


def _entry(number: int, at: dt.datetime) -> Entry:
    day = DAY + dt.timedelta(days=number % 28)
    return Entry(
        source_uid=uuid.uuid4(),
        source_kind="invoice",
        reference=f"I26-{number:05}",
        dated_on=day,
        tax_point_on=day,
        entered_at=at,
        words=f'Invoice, "Number {number}" & Sons; Käserei',
    )


def _postings(entry: Entry, party: uuid.UUID) -> list[Posting]:
    shape = (*SHAPE, ("output_tax", "", "standard", -22_00))
    about = {"entry": entry, "customer_kind": "private", "party_uid": party}
    return [
        Posting(position=place, role=role, line_kind=kind, tax_code=code, amount=coins // 100, **about)
        for place, (role, kind, code, coins) in enumerate(shape, start=1)
    ]


def bare(path: Path) -> int:
    """The same postings by a bare cursor and the csv writer, as the database has them. Returns how many."""
    with connection.cursor() as cursor, path.open("w", newline="", encoding="utf-8") as out:
        cursor.execute(SQL)
        writer = csv.writer(out)
        writer.writerow([column[0] for column in cursor.description])
        rows = 0
        while piece := cursor.fetchmany(2000):
            writer.writerows(piece)
            rows += len(piece)
    return rows
