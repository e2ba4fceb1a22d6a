"""The postings of a batch as the files hold them, and text that no reader takes for anything but text."""

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from workshop.bookkeeping.queries import Mapping, Preview


class About(NamedTuple):
    """What all files say about a batch."""

    no: int
    title: str
    currency: str
    first_on: str
    accounts: tuple[str, ...]
    note: str  # "" or what it replaces and why

    @property
    def width(self) -> int:
        """The length of the longest account."""
        return max(map(len, self.accounts), default=0)


@dataclass(frozen=True, slots=True)
class Case:
    """What the mapping looked at, and its account."""

    role: str
    line_kind: str
    tax_code: str
    customer_kind: str
    account: str


class Told(NamedTuple):
    """One posting; the amount is text with two places, debit positive."""

    position: int
    case: Case
    party_uid: str
    coins: int
    amount: str


class Entry(NamedTuple):
    """One entry with its postings; `no` counts from 1 in its batch."""

    no: int
    uid: str
    dated_on: str
    tax_point_on: str
    source_kind: str
    reference: str
    words: str
    postings: list[Told]


def cases_of(seen: Preview, mapping: Mapping) -> dict[tuple[str, ...], Case]:
    """The cases of a batch with their accounts. LookupError for one without: ask the mapping for `missing` first."""
    found: dict[tuple[str, ...], Case] = {}
    for case, _ in seen.cases:
        account = mapping.account(case)
        if account is None:
            raise LookupError(f"No account for {case}.")
        found[case] = Case(*case, account)
    return found


def entries(rows: Iterable[tuple[Any, ...]], cases: dict[tuple[str, ...], Case]) -> Iterator[Entry]:
    """The rows of queries.stream, entry by entry."""
    no, last, held = 0, None, None
    for pk, uid, dated, point, kind, reference, words, position, role, sold, code, customer, party, coins in rows:
        if pk != last:
            if held is not None:
                yield held
            no, last = no + 1, pk
            held = Entry(no, _dashed(uid), dated, point, kind, one_line(reference), one_line(words), [])
        told = Told(position, cases[role, sold, code, customer], _dashed(party) if party else "", coins, amount(coins))
        held.postings.append(told)  # type: ignore[union-attr]
    if held is not None:
        yield held


@lru_cache(8192)
def amount(coins: int) -> str:
    """12345 as 123.45."""
    sign, coins = ("-", -coins) if coins < 0 else ("", coins)
    return f"{sign}{coins // 100}.{coins % 100:02}"


@lru_cache(4096)
def _dashed(uid: str) -> str:
    """SQLite keeps a uuid as 32 digits, PostgreSQL as it is written everywhere."""
    return uid if "-" in uid else f"{uid[:8]}-{uid[8:12]}-{uid[12:16]}-{uid[16:20]}-{uid[20:]}"


def one_line(text: str) -> str:
    """The text without line ends, control and direction characters; runs of space become one."""
    if text.isprintable():  # no control, direction or surrogate character and no space but the plain one
        return " ".join(text.split())
    spaced = "".join(" " if character.isspace() else character for character in text)
    return " ".join("".join(character for character in spaced if unicodedata.category(character)[0] != "C").split())
