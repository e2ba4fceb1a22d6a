"""What a batch would hold, the batches, and whether their files still say what they said."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import BigIntegerField, Count, Exists, Min, OuterRef, Q, QuerySet, Sum, TextField
from django.db.models.functions import Cast

from workshop.bookkeeping.models import Batch, BatchEntry
from workshop.bookkeeping.queries.accounts import CASE, Case, Mapping
from workshop.calc.canonical import sha256
from workshop.calc.money import ZERO
from workshop.files import queries as files
from workshop.ledger.models import Entry, Posting

SHOWN = 200  # entries that a page lists; the files have all


@dataclass(frozen=True)
class Preview:
    """What a batch of the span would hold. `missing`: each case without an account, in words; none means that it can be written."""

    from_on: date
    to_on: date
    replaces: Batch | None
    entries: int
    first_on: date | None
    postings: int
    debit: Decimal
    credit: Decimal
    cases: tuple[tuple[Case, Decimal], ...]
    accounts: tuple[tuple[str, Decimal], ...]
    missing: tuple[str, ...]


def waiting(from_on: date, to_on: date) -> QuerySet[Entry]:
    """Entries dated in the span, both days counted, that no batch has taken; by day, then as they were written."""
    return Entry.objects.filter(taking(from_on, to_on)).order_by("dated_on", "pk")


def taking(from_on: date, to_on: date, replaces: Batch | None = None, *, at: str = "") -> Q:
    """Which entries a batch of the span takes: those that no batch has, and with `replaces` those of that batch.
    `at` is "entry" for postings."""
    rows = BatchEntry.objects.filter(entry=OuterRef(f"{at}_id" if at else "pk"))
    chosen = ~Q(Exists(rows))
    if replaces is not None:
        chosen |= Q(Exists(rows.filter(batch=replaces)))
    return Q(**{f"{at}__dated_on__range" if at else "dated_on__range": (from_on, to_on)}) & chosen


def all_waiting() -> tuple[int, date | None]:
    """How many entries no batch has taken, whatever their day, and the day of the oldest."""
    told = Entry.objects.filter(batched=None).aggregate(count=Count("pk"), oldest=Min("dated_on"))
    return told["count"], told["oldest"]


def waiting_through(day: date) -> int:
    """How many entries dated through a day no batch has taken."""
    return Entry.objects.filter(batched=None, dated_on__lte=day).count()


def preview(from_on: date, to_on: date, replaces: Batch | None = None) -> Preview:
    """What write_batch or replace_batch would take now, added up by the database. Writes nothing."""
    counted = Entry.objects.filter(taking(from_on, to_on, replaces)).aggregate(count=Count("pk"), first=Min("dated_on"))
    postings = Posting.objects.filter(taking(from_on, to_on, replaces, at="entry")).order_by()
    sums = postings.values_list(*CASE).annotate(
        total=Sum("amount"), debit=Sum("amount", filter=Q(amount__gt=0)), credit=Sum("amount", filter=Q(amount__lt=0)), count=Count("pk")
    )
    rows = [((role, kind, code, customer), total, debit, credit, count) for role, kind, code, customer, total, debit, credit, count in sums]
    mapping = Mapping()
    accounts: dict[str, Decimal] = {}
    for case, total, *_ in rows:
        if name := mapping.account(case):
            accounts[name] = accounts.get(name, ZERO) + total
    return Preview(
        from_on=from_on,
        to_on=to_on,
        replaces=replaces,
        entries=counted["count"],
        first_on=counted["first"],
        postings=sum(count for *_, count in rows),
        debit=sum((debit or ZERO for _, _, debit, _, _ in rows), ZERO),
        credit=-sum((credit or ZERO for _, _, _, credit, _ in rows), ZERO),
        cases=tuple(sorted((case, total) for case, total, *_ in rows)),
        accounts=tuple(sorted(accounts.items())),
        missing=mapping.missing(case for case, *_ in rows),
    )


def in_line(seen: Preview) -> str:
    """What a preview says, in words."""
    held = f"{seen.entries} entries with {seen.postings} postings wait, debit {seen.debit}, credit {seen.credit}."
    return f"{held} No account yet: {'; '.join(seen.missing)}." if seen.missing else held


def stream(seen: Preview) -> Iterator[tuple[Any, ...]]:
    """The postings that `seen` counted, in the order of the files, as plain values; a few thousand at a time are in memory.

    Ids and days come as text and amounts as whole coins, as the database has them: to make objects of each costs more than the rest."""
    postings = Posting.objects.filter(taking(seen.from_on, seen.to_on, seen.replaces, at="entry"))
    rows = postings.order_by("entry__dated_on", "entry_id", "position").values_list(
        "entry_id",
        Cast("entry__uid", TextField()),
        Cast("entry__dated_on", TextField()),
        Cast("entry__tax_point_on", TextField()),
        "entry__source_kind",
        "entry__reference",
        "entry__words",
        "position",
        *CASE,
        Cast("party_uid", TextField()),
        Cast("amount", BigIntegerField()),
    )
    return rows.iterator(chunk_size=2000)


def batches() -> QuerySet[Batch]:
    """All batches, newest first, with their files and what replaces them."""
    return Batch.objects.order_by("-no").select_related("replaces", "replaced_by").prefetch_related("files__blob")


def entries_of(batch: Batch) -> list[tuple[Entry, Decimal]]:
    """The first entries of a batch in the order of its files, each with its debit (which is its credit)."""
    held = Entry.objects.filter(batched__batch=batch).order_by("dated_on", "pk").prefetch_related("postings")[:SHOWN]
    return [(entry, sum((p.amount for p in entry.postings.all() if p.amount > 0), ZERO)) for entry in held]


def touching(from_on: date, to_on: date) -> QuerySet[Batch]:
    """Batches that hold an entry dated in the span and were not replaced, oldest first, with their files."""
    held = BatchEntry.objects.filter(batch=OuterRef("pk"), entry__dated_on__range=(from_on, to_on))
    return batches().filter(Exists(held), replaced_by=None).order_by("no")


def control(batch: Batch) -> dict[str, Any]:
    """The side file of a batch: hashes of its files and control totals."""
    name = f"control-{batch.no:04}.json"
    (file,) = [each for each in batch.files.all() if each.name == name]
    told: dict[str, Any] = json.loads(files.read(file.blob_id))
    return told


def problems() -> Iterator[str]:
    """Every batch whose files are not what its control file says, or whose entries do not add up to it, as a sentence."""
    for batch in batches():
        try:
            yield from _problems(batch)
        except (LookupError, ValueError) as error:
            yield f"Batch {batch.no} cannot be read: {error}"


def _problems(batch: Batch) -> Iterator[str]:
    blobs = {file.name: file.blob_id for file in batch.files.all()}
    side = f"control-{batch.no:04}.json"
    if sha256(files.read(blobs[side]).decode()) != batch.sha256:
        yield f"The control file of batch {batch.no} is not the one that was written."
    told = control(batch)
    for name, kept in told["files"].items():
        if blobs.get(name) != kept["sha256"]:
            yield f"{name} of batch {batch.no} is not the file that was written."
    held = Posting.objects.filter(entry__batched__batch=batch)
    sums = held.aggregate(debit=Sum("amount", filter=Q(amount__gt=0)), count=Count("pk"))
    debit = sums["debit"] or ZERO
    if f"{debit:f}" != told["debit"] or sums["count"] != told["postings"]:
        kept = f"{told['postings']} over {told['debit']}"
        yield f"Batch {batch.no} holds {sums['count']} postings over {debit}, its control file says {kept}."
    if batch.replaces_id and (left := BatchEntry.objects.filter(batch=batch.replaces_id, batchentry=None).count()):
        yield f"Batch {batch.no} replaces another and leaves {left} of its entries out."
