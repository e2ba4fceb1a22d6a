"""Read the mapping, what a batch would hold, and the batches."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db.models import Count, Min, Prefetch, QuerySet

from workshop.bookkeeping.models import Account, Batch
from workshop.calc.canonical import sha256
from workshop.calc.money import ZERO
from workshop.files import queries as files
from workshop.ledger.models import Entry, Posting

CASE = ("role", "line_kind", "tax_code", "customer_kind")
Case = tuple[str, str, str, str]


@dataclass(frozen=True)
class Preview:
    """What a batch of the span would hold. `missing`: each case without an account, in words; none means that it can be written."""

    from_on: date
    to_on: date
    entries: tuple[Entry, ...]
    postings: int
    debit: Decimal
    credit: Decimal
    accounts: tuple[tuple[str, Decimal], ...]
    missing: tuple[str, ...]


def suggested_accounts(profile: str) -> list[dict[str, str]]:
    """The accounts that come with a tax profile, for write_mapping. Raises LookupError when there are none for it."""
    path = Path(settings.BASE_DIR) / "fixtures/accounts" / f"{profile}.json"
    if not path.is_file():
        raise LookupError(f"There are no suggested accounts for {profile}.")
    rows: list[dict[str, str]] = json.loads(path.read_text(encoding="utf-8"))["accounts"]
    return rows


def case_of(posting: Posting) -> Case:
    """What the mapping looks at."""
    return (posting.role, posting.line_kind, posting.tax_code, posting.customer_kind)


class Mapping:
    """The accounts as they stand now, read in one query."""

    def __init__(self, rows: Iterable[Account] | None = None) -> None:
        kept = Account.objects.all() if rows is None else rows
        self.names: dict[Case, str] = {(row.role, row.line_kind, row.tax_code, row.customer_kind): row.name for row in kept}

    def account(self, case: Case) -> str | None:
        """The name of the fullest row that fits: an empty column fits everything. None when no row fits."""
        fitting = [row for row in self.names if all(mine in ("", theirs) for mine, theirs in zip(row, case, strict=True))]
        best = max(fitting, key=_fullness, default=None)
        return None if best is None else self.names[best]

    def missing(self, cases: Iterable[Case]) -> tuple[str, ...]:
        """Each case without an account, in words."""
        return tuple(in_words(case) for case in sorted({case for case in cases if self.account(case) is None}))


def _fullness(row: Case) -> tuple[int, tuple[bool, ...]]:
    """More columns first; of equally full rows the one that names the line kind, then the tax code."""
    return sum(map(bool, row)), tuple(map(bool, row))


def in_words(case: Case) -> str:
    """sales, labour, tax code standard, customer private."""
    role, line_kind, tax_code, customer_kind = case
    told = [role.replace("_", " "), line_kind.replace("_", " ")]
    told += [f"tax code {tax_code}" if tax_code else "", f"customer {customer_kind}" if customer_kind else ""]
    return ", ".join(filter(None, told))


def waiting(from_on: date, to_on: date) -> QuerySet[Entry]:
    """Entries dated in the span, both days counted, that no batch has taken; in the order in which they were written."""
    postings = Prefetch("postings", Posting.objects.order_by("position"))
    return Entry.objects.filter(dated_on__range=(from_on, to_on), batched=None).order_by("dated_on", "pk").prefetch_related(postings)


def all_waiting() -> tuple[int, date | None]:
    """How many entries no batch has taken, whatever their day, and the day of the oldest."""
    told = Entry.objects.filter(batched=None).aggregate(count=Count("pk"), oldest=Min("dated_on"))
    return told["count"], told["oldest"]


def preview(from_on: date, to_on: date) -> Preview:
    """What write_batch would take now. Writes nothing."""
    entries = tuple(waiting(from_on, to_on))
    postings = [posting for entry in entries for posting in entry.postings.all()]
    mapping = Mapping()
    sums: dict[str, Decimal] = {}
    for posting in postings:
        if name := mapping.account(case_of(posting)):
            sums[name] = sums.get(name, ZERO) + posting.amount
    return Preview(
        from_on=from_on,
        to_on=to_on,
        entries=entries,
        postings=len(postings),
        debit=sum((posting.amount for posting in postings if posting.amount > 0), ZERO),
        credit=-sum((posting.amount for posting in postings if posting.amount < 0), ZERO),
        accounts=tuple(sorted(sums.items())),
        missing=mapping.missing(map(case_of, postings)),
    )


def batches() -> QuerySet[Batch]:
    """All batches, newest first, with their files."""
    return Batch.objects.order_by("-no").prefetch_related("files__blob")


def mapped() -> bool:
    """Whether any account is mapped at all."""
    return Account.objects.exists()


def entries_of(batch: Batch) -> list[tuple[Entry, Decimal]]:
    """The entries of a batch in the order of its files, each with its debit (which is its credit)."""
    held = Entry.objects.filter(batched__batch=batch).order_by("dated_on", "pk").prefetch_related("postings")
    return [(entry, sum((p.amount for p in entry.postings.all() if p.amount > 0), ZERO)) for entry in held]


def touching(from_on: date, to_on: date) -> QuerySet[Batch]:
    """Batches that hold an entry dated in the span, oldest first, with their files."""
    return batches().filter(entries__entry__dated_on__range=(from_on, to_on)).distinct().order_by("no")


def control(batch: Batch) -> dict[str, Any]:
    """The side file of a batch: hashes of its files and control totals."""
    name = f"control-{batch.no:04}.json"
    (file,) = [each for each in batch.files.all() if each.name == name]
    told: dict[str, Any] = json.loads(files.read(file.blob_id))
    return told


def problems() -> Iterator[str]:
    """Every batch whose files are not what its control file says, or whose entries do not add up to it, as a sentence."""
    for batch in batches().prefetch_related("entries__entry__postings"):
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
    amounts = [posting.amount for row in batch.entries.all() for posting in row.entry.postings.all()]
    debit = sum((amount for amount in amounts if amount > 0), ZERO)
    if f"{debit:f}" != told["debit"] or len(amounts) != told["postings"]:
        yield f"Batch {batch.no} holds {len(amounts)} postings over {debit}, its control file says {told['postings']} over {told['debit']}."
