"""Write a batch, or one that replaces another; lay batches out in a folder."""

import json
import shutil
import tempfile
from collections.abc import Callable, Iterable, Mapping
from contextlib import ExitStack
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.db import connection, transaction
from django.db.models import Max, OuterRef, Subquery, Value

from workshop import clock
from workshop.bookkeeping import queries
from workshop.bookkeeping.actions import journal, lines, table
from workshop.bookkeeping.actions.rows import About, Case, Entry, cases_of, entries
from workshop.bookkeeping.models import Batch, BatchEntry, BatchFile
from workshop.calc.canonical import sha256
from workshop.calc.money import ZERO
from workshop.company.queries import company
from workshop.files.actions import store_file
from workshop.files.models import Blob
from workshop.files.queries import path
from workshop.history.actions import Actor, record
from workshop.ledger import queries as ledger
from workshop.ledger.actions import Refused, lock_books
from workshop.ledger.models import Entry as LedgerEntry

MEDIA = {"hledger": "text/plain", "beancount": "text/plain", "csv": "text/csv", "json": "application/json", "jsonl": "application/jsonl"}
# Each file: its name, what stands at its head, what makes its lines of an entry.
FILES: tuple[tuple[str, Callable[[About], str], Callable[[About], Callable[[Entry], str]]], ...] = (
    ("journal-{no:04}.hledger", journal.hledger_head, journal.hledger),
    ("journal-{no:04}.beancount", journal.beancount_head, journal.beancount),
    ("postings-{no:04}.csv", table.csv_head, table.csv),
    ("entries-{no:04}.jsonl", lambda about: "", lines.jsonl),
)


@transaction.atomic
def write_batch(actor: Actor, from_on: date, to_on: date) -> Batch:
    """A numbered batch of everything dated in the span that no batch has yet, and its files, which never change.

    Raises Refused when accounts are missing (all of them named, no file written), nothing waits, or the span runs backwards."""
    lock_books()
    if from_on > to_on:
        raise Refused(f"{from_on} comes after {to_on}. Turn the two days round.")
    seen = queries.preview(from_on, to_on)
    _require_accounts(seen)
    if not seen.entries:
        raise Refused(f"Nothing waits from {from_on} to {to_on}: every entry is in a batch, or there is none.")
    batch = _write(actor, seen)
    told = {"no": batch.no, "from_on": from_on, "to_on": to_on, "entries": seen.entries, "debit": seen.debit, "sha256": batch.sha256}
    record("bookkeeping.batch_written", actor, payload=told)
    return batch


@transaction.atomic
def replace_batch(actor: Actor, old: Batch, reason: str) -> Batch:
    """A new batch of the same days in place of another: its entries, and what was dated in these days since, with the accounts of now.
    The files of the old one stay as they are.

    Raises Refused when it was replaced already, its days are closed, accounts are missing, or there is no reason."""
    lock_books()
    old = Batch.objects.get(pk=old.pk)
    if (newer := Batch.objects.filter(replaces=old).first()) is not None:
        raise Refused(f"Batch {newer.no} is in the place of batch {old.no} already.")
    closed = ledger.closed_through()
    if closed is not None and closed >= old.from_on:
        raise Refused(f"The books are closed through {closed}, and batch {old.no} begins on {old.from_on}. Open them again first.")
    if not reason.strip():
        raise Refused("A batch that takes the place of another needs a reason, which stays on file.")
    seen = queries.preview(old.from_on, old.to_on, old)
    _require_accounts(seen)
    batch = _write(actor, seen, reason[:200])
    told = {"no": batch.no, "replaces": old.no, "reason": reason[:200], "entries": seen.entries, "debit": seen.debit}
    record("bookkeeping.batch_replaced", actor, payload={**told, "sha256": batch.sha256})
    return batch


def _require_accounts(seen: queries.Preview) -> None:
    if seen.missing:
        raise Refused(
            f"No file was written. These have no account yet: {'; '.join(seen.missing)}. Give each an account, then write the batch."
        )


def _write(actor: Actor, seen: queries.Preview, reason: str = "") -> Batch:
    no = (Batch.objects.aggregate(last=Max("no"))["last"] or 0) + 1
    with tempfile.TemporaryDirectory(prefix="books-") as folder:
        blobs, side = _files(Path(folder), no, seen, reason)
    about = {"from_on": seen.from_on, "to_on": seen.to_on, "replaces": seen.replaces, "reason": reason}
    batch = Batch.objects.create(no=no, made_at=clock.now(), made_by=actor.name[:120], sha256=sha256(side), **about)
    _take(batch, seen)
    BatchFile.objects.bulk_create(BatchFile(batch=batch, name=name, blob=blob) for name, blob in blobs.items())
    return batch


def _take(batch: Batch, seen: queries.Preview) -> None:
    """Puts the entries into the batch, inside the database: a year of them is more than should pass through here."""
    before = BatchEntry.objects.filter(batch=seen.replaces, entry=OuterRef("pk")).values("pk")
    rows = LedgerEntry.objects.filter(queries.taking(seen.from_on, seen.to_on, seen.replaces)).order_by("dated_on", "pk")
    chosen = rows.annotate(batch_pk=Value(batch.pk), before=Subquery(before)).values_list("batch_pk", "pk", "before")
    select, values = chosen.query.sql_with_params()
    table_name = connection.ops.quote_name(BatchEntry._meta.db_table)
    with connection.cursor() as cursor:
        cursor.execute(f"INSERT INTO {table_name} (batch_id, entry_id, replaces_id) {select}", values)
    if (taken := batch.entries.count()) != seen.entries:
        raise RuntimeError(f"Batch {batch.no} took {taken} entries, {seen.entries} were counted.")


def _files(folder: Path, no: int, seen: queries.Preview, reason: str) -> tuple[dict[str, Blob], str]:
    """The blobs of all files by name, and the text of the side file, which is one of them."""
    firm, cases = company(), cases_of(seen, queries.Mapping())
    note = f"in place of batch {seen.replaces.no}: {reason}" if seen.replaces else ""
    title = f"{firm.name}, batch {no}, {seen.from_on} to {seen.to_on}"
    accounts = tuple(name for name, _ in seen.accounts)
    about = About(no, title, firm.currency, str(seen.first_on or seen.from_on), accounts, note)
    paths = _stream(folder, about, seen, cases)
    paths.append(_put(folder / f"postings-{no:04}.schema.json", table.schema()))
    blobs = {each.name: _stored(each) for each in paths}
    side = _put(folder / f"control-{no:04}.json", _control(no, seen, reason, cases.values(), blobs))
    return {**blobs, side.name: _stored(side)}, side.read_text(encoding="utf-8")


def _stream(folder: Path, about: About, seen: queries.Preview, cases: dict[tuple[str, ...], Case]) -> list[Path]:
    """Writes every file in one pass over the postings, a few thousand of which are in memory at a time."""
    paths = [folder / name.format(no=about.no) for name, _, _ in FILES]
    postings = balance = 0
    with ExitStack() as stack:
        opened = [stack.enter_context(each.open("w", encoding="utf-8", newline="")) for each in paths]
        for out, (_, head, _) in zip(opened, FILES, strict=True):
            out.write(head(about))
        sinks = [(out.write, make(about)) for out, (_, _, make) in zip(opened, FILES, strict=True)]
        for entry in entries(queries.stream(seen), cases):
            for put, write in sinks:
                put(write(entry))
            postings += len(entry.postings)
            balance += sum(told.coins for told in entry.postings)
    if (postings, balance) != (seen.postings, 0):
        raise RuntimeError(f"{postings} postings that sum to {balance} coins were written, {seen.postings} that balance were counted.")
    return paths


def _control(no: int, seen: queries.Preview, reason: str, cases: Iterable[Case], blobs: Mapping[str, Blob]) -> dict[str, Any]:
    """Hash and size of each file, the totals to tie it to, and the accounts as they stood."""
    taxes: dict[str, Decimal] = {}
    for (role, _, code, _), total in seen.cases:
        if role == "output_tax":
            taxes[code] = taxes.get(code, ZERO) - total
    return {
        "batch": no,
        "from": str(seen.from_on),
        "to": str(seen.to_on),
        **({"replaces": seen.replaces.no, "reason": reason} if seen.replaces else {}),
        "entries": seen.entries,
        "postings": seen.postings,
        "debit": f"{seen.debit:f}",
        "credit": f"{seen.credit:f}",
        "accounts": {name: f"{amount:f}" for name, amount in seen.accounts},
        "output tax": {code: f"{amount:f}" for code, amount in sorted(taxes.items())},
        "mapping": [{name: getattr(case, name) for name in (*queries.CASE, "account")} for case in cases],
        "files": {name: {"sha256": blob.pk, "bytes": blob.size} for name, blob in blobs.items()},
    }


def _put(out: Path, value: dict[str, Any]) -> Path:
    out.write_text(json.dumps(value, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    return out


def _stored(file: Path) -> Blob:
    return store_file(file, MEDIA[file.suffix[1:]])


def export_books(actor: Actor, from_on: date, to_on: date, out: Path) -> list[Path]:
    """Writes a batch if anything waits, then the files of every batch that touches the span and counts into the folder; returns their
    paths.

    A batch stands whole in a folder of its own; what lay there before is the same bytes. A batch that was replaced is left out, because
    its entries are in the one in its place. Raises Refused as write_batch, and when no batch touches the span."""
    if queries.waiting(from_on, to_on).exists() or not queries.touching(from_on, to_on).exists():
        write_batch(actor, from_on, to_on)
    written = []
    for batch in queries.touching(from_on, to_on):
        folder = out / f"batch-{batch.no:04}"
        folder.mkdir(parents=True, exist_ok=True)
        for file in batch.files.all():
            shutil.copyfile(path(file.blob_id), folder / file.name)
            written.append(folder / file.name)
    return written
