"""Give numbers without a gap; begin a series where another book ended."""

from datetime import date

from django.db import connection, transaction
from django.db.models import F

from workshop.calc import numbering
from workshop.company import queries
from workshop.company.actions.common import Refused, require_fresh
from workshop.company.models import Series
from workshop.history.actions import Actor, record


class DateGoesBack(Exception):
    """A document would be dated before the last one of its series."""


def next_number(kind: str, on: date) -> str:
    """The next number of a series and year, such as 26-0117. Call it last in the verb: the row stays locked until commit.

    Raises RuntimeError outside a transaction, DateGoesBack when `on` lies before the last number's date.
    """
    if not connection.in_atomic_block:
        raise RuntimeError("A number given outside a transaction could be lost.")
    Series.objects.bulk_create([Series(kind=kind, year=on.year)], ignore_conflicts=True)
    Series.objects.filter(kind=kind, year=on.year).update(value=F("value") + 1)
    series = Series.objects.select_for_update().get(kind=kind, year=on.year)
    if series.last_on and on < series.last_on:
        raise DateGoesBack(f"The last {kind} is dated {series.last_on}. This one may not be dated {on}, before it.")
    Series.objects.filter(pk=series.pk).update(last_on=on)
    return numbering.number(kind, on.year, series.starts_after + series.value)


@transaction.atomic
def set_first_number(actor: Actor, kind: str, year: int, first: int, reason: str, *, seen: str | None = None) -> Series:
    """Lets a series of a year begin at `first`, because the numbers before were given elsewhere; the reason names where.

    Raises Refused when the year has given a number, or when `first` is not above where the series begins now."""
    Series.objects.bulk_create([Series(kind=kind, year=year)], ignore_conflicts=True)
    series = Series.objects.select_for_update().get(kind=kind, year=year)
    if series.value:
        last = numbering.number(kind, year, series.starts_after + series.value)
        raise Refused(f"{last} is given. A number left out after it would be missing for good, so the next one follows it.", "first")
    if first <= series.starts_after + 1:
        begins = numbering.number(kind, year, series.starts_after + 1)
        raise Refused(f"The series begins at {begins} already. It can only begin higher, so that no number is used twice.", "first")
    require_fresh(
        seen, queries.seen_of_series(year), "Somebody let a series begin elsewhere after you opened this sheet. Look at the list."
    )
    series.starts_after = first - 1
    series.save(update_fields=["starts_after"])
    record(
        "company.series_begun", actor, payload={"kind": kind, "number": numbering.number(kind, year, first), "year": year, "reason": reason}
    )
    return series
