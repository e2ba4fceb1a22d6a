"""The accounts: which case has which, which has none, and what each event does to them, in words."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db.models import Count, Q

from workshop.bookkeeping.models import Account
from workshop.company.queries import seen_of, tax_rates, taxed
from workshop.ledger.models import Posting

CASE = ("role", "line_kind", "tax_code", "customer_kind")
Case = tuple[str, str, str, str]
ROLES = {
    "receivable": "Receivable",
    "sales": "Sales",
    "output_tax": "Output tax",
    "bank": "Bank",
    "cash": "Cash",
    "card_clearing": "Card clearing",
    "card_fees": "Card fees",
    "cash_rounding": "Cash rounding",
    "customer_credit": "Customer credit",
    "receivable_before": "Receivable from before",
    "opening_equity": "Opening equity",
}
SOLD = ("labour", "parts", "access_labour", "access_parts", "first_price", "fixed")
# Event, what kind of entry it is, debit, credit. A kind of entry that is not here is read from the books.
EVENTS = (
    ("An invoice", "invoice", ("receivable",), ("sales", "output_tax")),
    ("A credit note", "credit", ("sales", "output_tax"), ("receivable",)),
    ("A payment by bank transfer", "payment", ("bank",), ("receivable",)),
    ("A payment in cash", "payment", ("cash", "cash_rounding"), ("receivable",)),
    ("A payment by card", "payment", ("card_clearing", "card_fees"), ("receivable",)),
    ("Money that is kept as credit", "payment", ("bank",), ("customer_credit",)),
    ("Opening balances", "opening", ("bank", "cash", "receivable_before"), ("output_tax", "opening_equity")),
)


@dataclass(frozen=True)
class Place:
    """A case on the sheet: its account ("" for none), how many postings it takes, how many of them no batch has."""

    case: Case
    words: str
    name: str
    postings: int

    @property
    def key(self) -> str:
        """The name of its box."""
        return "|".join(self.case)


def suggested(profile: str) -> bool:
    """Whether accounts come with a tax profile."""
    return _path(profile).is_file()


def suggested_accounts(profile: str) -> list[dict[str, str]]:
    """The accounts that come with a tax profile and those that every profile has, for write_mapping.

    Raises LookupError when there are none for it."""
    if not suggested(profile):
        raise LookupError(f"There are no suggested accounts for {profile}.")
    rows: dict[tuple[str, ...], dict[str, str]] = {}
    for name in ("every", profile):
        for row in json.loads(_path(name).read_text(encoding="utf-8"))["accounts"]:
            rows[tuple(row.get(column, "") for column in CASE)] = row
    return list(rows.values())


def _path(profile: str) -> Path:
    return Path(settings.BASE_DIR) / "fixtures/accounts" / f"{profile}.json"


class Mapping:
    """The accounts as they stand now, read in one query."""

    def __init__(self, rows: Iterable[Account] | None = None) -> None:
        kept = Account.objects.all() if rows is None else rows
        self.names: dict[Case, str] = {(row.role, row.line_kind, row.tax_code, row.customer_kind): row.name for row in kept}

    def row(self, case: Case) -> Case | None:
        """The fullest row that fits: an empty column fits everything. None when no row fits."""
        fitting = [row for row in self.names if all(mine in ("", theirs) for mine, theirs in zip(row, case, strict=True))]
        return max(fitting, key=_fullness, default=None)

    def account(self, case: Case) -> str | None:
        """The name of the fullest row that fits. None when no row fits."""
        best = self.row(case)
        return None if best is None else self.names[best]

    def missing(self, cases: Iterable[Case]) -> tuple[str, ...]:
        """Each case without an account, in words."""
        without = sorted({case for case in cases if self.account(case) is None})
        told = bool(without) and taxed()
        return tuple(in_words(case, taxed=told) for case in without)


def _fullness(row: Case) -> tuple[int, tuple[bool, ...]]:
    """More columns first; of equally full rows the one that names the line kind, then the tax code."""
    return sum(map(bool, row)), tuple(map(bool, row))


def in_words(case: Case, *, taxed: bool = True) -> str:
    """sales, labour, tax code standard, customer private. Where nobody is registered there is no word of tax."""
    role, line_kind, tax_code, customer_kind = case
    told = [role.replace("_", " "), line_kind.replace("_", " ")]
    told += [f"tax code {tax_code}" if tax_code and taxed else "", f"customer {customer_kind}" if customer_kind else ""]
    return ", ".join(filter(None, told))


def mapped() -> bool:
    """Whether any account is mapped at all."""
    return Account.objects.exists()


def seen_of_accounts() -> str:
    """The print of all accounts: a sheet carries it."""
    return seen_of(Account.objects.order_by("pk"))


def places() -> list[Place]:
    """Every case that has an account, occurs in the books, or can occur; those without an account first. Of two customers
    without an account of their own one case is enough."""
    mapping, occur = Mapping(), _occurring()
    told = taxed()
    uses: dict[Case, int] = {}
    for case, count in occur.items():
        row = mapping.row(case) or _any_customer(case)
        uses[row] = uses.get(row, 0) + count
    for case in _possible(told):
        uses.setdefault(mapping.row(case) or case, 0)
    rows = {**dict.fromkeys(mapping.names, 0), **uses}
    found = [Place(case, _shown(case, told), mapping.names.get(case, ""), count) for case, count in rows.items()]
    return sorted(found, key=lambda place: (bool(place.name), not place.postings, _order(place.case)))


def _any_customer(case: Case) -> Case:
    role, line_kind, tax_code, _ = case
    return (role, line_kind, tax_code, "")


def _occurring() -> dict[Case, int]:
    rows = Posting.objects.order_by().values_list(*CASE).annotate(count=Count("pk"))
    return {(role, kind, code, customer): count for role, kind, code, customer, count in rows}


def _possible(told: bool) -> Iterator[Case]:
    """What invoices, payments and opening balances can post."""
    codes = sorted({rate.code for rate in tax_rates()}) or ["standard"]
    for role in ROLES:
        if role == "sales":
            yield from ((role, kind, code, "") for code in codes for kind in SOLD)
        elif role == "output_tax":
            yield from ((role, "", code, "") for code in codes if told)
        else:
            yield (role, "", "", "")


def _order(case: Case) -> tuple[int, Case]:
    known = list(ROLES)
    return (known.index(case[0]) if case[0] in known else len(known)), case


def _shown(case: Case, told: bool) -> str:
    words = in_words((ROLES.get(case[0], case[0]), *case[1:]), taxed=told)
    return words[:1].upper() + words[1:]


def what_happens() -> list[tuple[str, str, str]]:
    """Each event with its debit and its credit in words; kinds of entries that only the books know as they occur there."""
    told = taxed()
    rows = [(words, _side(debit, told), _side(credit, told)) for words, _, debit, credit in EVENTS]
    known = {kind for _, kind, _, _ in EVENTS}
    others: dict[str, tuple[list[str], list[str]]] = {}
    postings = Posting.objects.exclude(entry__source_kind__in=known).order_by("entry__source_kind", "role")
    for kind, role, debits in postings.values_list("entry__source_kind", "role").annotate(debits=Count("pk", filter=Q(amount__gt=0))):
        others.setdefault(kind, ([], []))[0 if debits else 1].append(role)
    return rows + [
        (kind.replace("_", " ").capitalize(), _side(debit, told), _side(credit, told)) for kind, (debit, credit) in others.items()
    ]


def _side(roles: Iterable[str], told: bool) -> str:
    words = []
    for role in roles:
        if role == "sales":
            words += [f"Sales {kind.replace('_', ' ')}" for kind in SOLD]
        elif role != "output_tax" or told:
            words.append(ROLES.get(role, role.replace("_", " ").capitalize()))
    return ", ".join(words)
