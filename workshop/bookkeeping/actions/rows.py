"""The rows of a batch as the files hold them, and text that no reader takes for anything but text."""

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import groupby
from uuid import UUID

from workshop.bookkeeping.queries import Mapping, case_of
from workshop.ledger.models import Entry


@dataclass(frozen=True)
class Row:
    """One posting with the entry around it and its account."""

    entry_uid: UUID
    position: int
    dated_on: date
    tax_point_on: date
    source_kind: str
    reference: str
    words: str
    role: str
    line_kind: str
    tax_code: str
    customer_kind: str
    party_uid: UUID | None
    account: str
    amount: Decimal


def rows_of(entries: Iterable[Entry], mapping: Mapping) -> Iterator[Row]:
    """All postings of the entries in order. LookupError for a case without account: ask the mapping for `missing` first."""
    for entry in entries:
        for posting in entry.postings.all():
            account = mapping.account(case_of(posting))
            if account is None:
                raise LookupError(f"No account for {case_of(posting)}.")
            yield Row(
                entry_uid=entry.uid,
                position=posting.position,
                dated_on=entry.dated_on,
                tax_point_on=entry.tax_point_on,
                source_kind=entry.source_kind,
                reference=entry.reference,
                words=entry.words,
                role=posting.role,
                line_kind=posting.line_kind,
                tax_code=posting.tax_code,
                customer_kind=posting.customer_kind,
                party_uid=posting.party_uid,
                account=account,
                amount=posting.amount,
            )


def by_entry(rows: Iterable[Row]) -> Iterator[list[Row]]:
    """The rows entry by entry."""
    for _, group in groupby(rows, key=lambda row: row.entry_uid):
        yield list(group)


def one_line(text: str) -> str:
    """The text without line ends, control and direction characters; runs of space become one."""
    spaced = "".join(" " if character.isspace() else character for character in text)
    return " ".join("".join(character for character in spaced if unicodedata.category(character)[0] != "C").split())
