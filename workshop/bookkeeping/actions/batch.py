"""Write the mapping; write a batch."""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.db import transaction
from django.db.models import Max

from workshop import clock
from workshop.bookkeeping import queries
from workshop.bookkeeping.actions import journal, table
from workshop.bookkeeping.actions.rows import Row, rows_of
from workshop.bookkeeping.models import Account, Batch, BatchEntry, BatchFile
from workshop.calc.canonical import sha256
from workshop.calc.money import ZERO
from workshop.company.queries import company
from workshop.files.actions import store
from workshop.files.queries import read
from workshop.history.actions import Actor, record
from workshop.ledger.actions import Refused, lock_books

# The five roots and the letters that all three journal readers take.
ACCOUNT = re.compile(r"(Assets|Liabilities|Equity|Income|Expenses)(:[A-Z0-9][A-Za-z0-9-]*)+")
MEDIA = {"hledger": "text/plain", "beancount": "text/plain", "csv": "text/csv", "json": "application/json"}


def write_mapping(rows: Iterable[Mapping[str, str]]) -> list[Account]:
    """Writes or rewrites the account of each case (role, and line_kind, tax_code, customer_kind where they matter); records nothing.

    Batches that were written keep their accounts. Raises Refused for a name that the journal readers would not take."""
    kept = []
    for row in rows:
        if not ACCOUNT.fullmatch(row["name"]):
            raise Refused(f"{row['name']!r} is no account. Begin with Assets, Liabilities, Equity, Income or Expenses, like Income:Labour.")
        case: dict[str, Any] = {column: row.get(column, "") for column in queries.CASE}
        kept.append(Account.objects.update_or_create(**case, defaults={"name": row["name"]})[0])
    return kept


@transaction.atomic
def map_accounts(actor: Actor, rows: Sequence[Mapping[str, str]]) -> list[Account]:
    """As write_mapping, as a verb of its own."""
    kept = write_mapping(rows)
    record("bookkeeping.mapped", actor, payload={"rows": len(kept)})
    return kept


@transaction.atomic
def write_batch(actor: Actor, from_on: date, to_on: date) -> Batch:
    """A numbered batch of everything dated in the span that no batch has yet, and its files, which never change.

    Raises Refused when accounts are missing (all of them named, no file written), nothing waits, or the span runs backwards."""
    lock_books()
    if from_on > to_on:
        raise Refused(f"{from_on} comes after {to_on}. Turn the two days round.")
    seen = queries.preview(from_on, to_on)
    if seen.missing:
        raise Refused(
            f"No file was written. These have no account yet: {'; '.join(seen.missing)}. Give each an account, then write the batch."
        )
    if not seen.entries:
        raise Refused(f"Nothing waits from {from_on} to {to_on}: every entry is in a batch, or there is none.")
    no = (Batch.objects.aggregate(last=Max("no"))["last"] or 0) + 1
    rows = list(rows_of(seen.entries, queries.Mapping()))
    texts = _files(no, rows, seen)
    side = _control(no, rows, seen, texts)
    batch = Batch.objects.create(no=no, from_on=from_on, to_on=to_on, made_at=clock.now(), made_by=actor.name[:120], sha256=sha256(side))
    BatchEntry.objects.bulk_create(BatchEntry(batch=batch, entry=entry) for entry in seen.entries)
    for name, text in {**texts, f"control-{no:04}.json": side}.items():
        BatchFile.objects.create(batch=batch, name=name, blob=store(text.encode(), MEDIA[name.rpartition(".")[2]]))
    told = {"no": no, "from_on": from_on, "to_on": to_on, "entries": len(seen.entries), "debit": seen.debit, "sha256": batch.sha256}
    record("bookkeeping.batch_written", actor, payload=told)
    return batch


def _files(no: int, rows: list[Row], seen: queries.Preview) -> dict[str, str]:
    firm = company()
    title = f"{firm.name}, batch {no}, {seen.from_on} to {seen.to_on}"
    return {
        f"journal-{no:04}.hledger": journal.hledger(rows, title=title, currency=firm.currency),
        f"journal-{no:04}.beancount": journal.beancount(rows, title=title, currency=firm.currency),
        f"postings-{no:04}.csv": table.postings_csv(rows, batch=no, currency=firm.currency),
        f"postings-{no:04}.schema.json": _written(table.schema()),
    }


def _control(no: int, rows: list[Row], seen: queries.Preview, texts: dict[str, str]) -> str:
    """Hash and size of each file, and the totals to tie it to."""
    taxes: dict[str, Decimal] = {}
    for row in rows:
        if row.role == "output_tax":
            taxes[row.tax_code] = taxes.get(row.tax_code, ZERO) - row.amount
    return _written(
        {
            "batch": no,
            "from": str(seen.from_on),
            "to": str(seen.to_on),
            "entries": len(seen.entries),
            "postings": seen.postings,
            "debit": f"{seen.debit:f}",
            "credit": f"{seen.credit:f}",
            "accounts": {name: f"{amount:f}" for name, amount in seen.accounts},
            "output tax": {code: f"{amount:f}" for code, amount in sorted(taxes.items())},
            "files": {name: {"sha256": sha256(text), "bytes": len(text.encode())} for name, text in texts.items()},
        }
    )


def _written(value: dict[str, Any]) -> str:
    return json.dumps(value, indent=2, ensure_ascii=False) + "\n"


def export_books(actor: Actor, from_on: date, to_on: date, out: Path) -> list[Path]:
    """Writes a batch if anything waits, then the files of every batch that touches the span into the folder; returns their paths.

    A batch stands whole in a folder of its own; what lay there before is the same bytes. Raises Refused as write_batch,
    and when no batch touches the span."""
    if queries.waiting(from_on, to_on).exists() or not queries.touching(from_on, to_on).exists():
        write_batch(actor, from_on, to_on)
    written = []
    for batch in queries.touching(from_on, to_on):
        folder = out / f"batch-{batch.no:04}"
        folder.mkdir(parents=True, exist_ok=True)
        for file in batch.files.all():
            path = folder / file.name
            path.write_bytes(read(file.blob_id))
            written.append(path)
    return written
