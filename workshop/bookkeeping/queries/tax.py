"""Tax by code over a span, from the postings."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Exists, F, OuterRef, QuerySet, Sum

from workshop.bookkeeping.models import BatchEntry
from workshop.bookkeeping.queries.accounts import CASE, Mapping
from workshop.calc.money import ZERO
from workshop.company.queries import tax_rates
from workshop.ledger.models import Entry, Posting

COUNTED = ("sales", "output_tax")


@dataclass(frozen=True)
class TaxRow:
    """What was sold under a code, the tax on it and both together; credit notes are taken off."""

    code: str
    name: str
    net: Decimal
    tax: Decimal

    @property
    def gross(self) -> Decimal:
        """Net and tax."""
        return self.net + self.tax


@dataclass(frozen=True)
class Report:
    """A span by tax code. `accounts`: the same postings by account, credit positive; `waiting`: tax that no batch has yet;
    `opening`: output tax brought over, which is not counted; `elsewhen`: entries whose tax date lies outside the span."""

    rows: tuple[TaxRow, ...]
    accounts: tuple[tuple[str, Decimal], ...]
    waiting: Decimal
    opening: Decimal
    elsewhen: tuple[Entry, ...]

    @property
    def total(self) -> TaxRow:
        """All codes together."""
        return TaxRow("", "", sum((row.net for row in self.rows), ZERO), sum((row.tax for row in self.rows), ZERO))


def tax_report(from_on: date, to_on: date) -> Report:
    """Sales and output tax of the entries dated in the span, both days counted. A paper that came late counts where it is dated."""
    dated = Posting.objects.filter(role__in=COUNTED, entry__dated_on__range=(from_on, to_on))
    counted = dated.exclude(entry__source_kind="opening")
    sums: dict[tuple[str, str], Decimal] = {}
    accounts: dict[str, Decimal] = {}
    mapping = Mapping()
    for role, kind, code, customer, total in counted.order_by().values_list(*CASE).annotate(total=Sum("amount")):
        sums[role, code] = sums.get((role, code), ZERO) - total
        name = mapping.account((role, kind, code, customer)) or "no account yet"
        accounts[name] = accounts.get(name, ZERO) - total
    unsent = counted.filter(~Exists(BatchEntry.objects.filter(entry=OuterRef("entry"))), role="output_tax")
    opened = dated.filter(role="output_tax", entry__source_kind="opening")
    return Report(_rows(sums), tuple(sorted(accounts.items())), _credit(unsent), _credit(opened), tuple(_elsewhen(from_on, to_on)))


def _rows(sums: dict[tuple[str, str], Decimal]) -> tuple[TaxRow, ...]:
    names = {rate.code: f"{rate.name} {(rate.rate * 100).normalize():f} %" for rate in reversed(tax_rates())}
    codes = sorted({code for _, code in sums})
    return tuple(TaxRow(code, names.get(code, ""), sums.get(("sales", code), ZERO), sums.get(("output_tax", code), ZERO)) for code in codes)


def _credit(postings: QuerySet[Posting]) -> Decimal:
    total: Decimal | None = postings.aggregate(total=Sum("amount"))["total"]
    return ZERO if total is None else -total


def _elsewhen(from_on: date, to_on: date) -> Iterable[Entry]:
    late = Entry.objects.filter(dated_on__range=(from_on, to_on), postings__role__in=COUNTED).exclude(source_kind="opening")
    other = late.exclude(tax_point_on=F("dated_on")).exclude(tax_point_on__range=(from_on, to_on))
    return other.distinct().order_by("dated_on", "pk")[:200]
