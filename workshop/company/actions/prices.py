"""What an hour and the way to the vehicle cost, from a date. Older rows stay."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction

from workshop.company import queries
from workshop.company.actions.common import Refused, hold, require_fresh
from workshop.company.models import CallOutRule, Rate
from workshop.history.actions import Actor, record

STALE = "Somebody set another price after you opened this sheet. It stands in the list now: look at it, then set yours."


@transaction.atomic
def set_rate(actor: Actor, rate_class: str, from_on: date, hour_amount: Decimal, *, mend: bool = False, seen: str | None = None) -> Rate:
    """What an hour of a class costs from a date on. `mend` puts the price of that very day right.

    Raises Refused when that day has a price and it is not to be mended, Stale when the list that showed `seen` is out of date."""
    hold()
    there = Rate.objects.filter(rate_class=rate_class, from_on=from_on).first()
    if there and (not mend or there.hour_amount == hour_amount):
        raise Refused(_taken(rate_class, there.hour_amount, from_on, hour_amount), "from_on")
    require_fresh(seen, queries.seen_of(queries.rates()), STALE)
    if there:
        was, there.hour_amount = there.hour_amount, hour_amount
        there.save(update_fields=["hour_amount"])
        record("company.rate_mended", actor, payload=_rate(there) | {"was_amount": was})
        return there
    try:
        with transaction.atomic():
            rate = Rate.objects.create(rate_class=rate_class, from_on=from_on, hour_amount=hour_amount)
    except IntegrityError as double:
        raise Refused(_taken(rate_class, hour_amount, from_on, hour_amount), "from_on") from double
    record("company.rate_set", actor, payload=_rate(rate))
    return rate


def _rate(rate: Rate) -> dict[str, Any]:
    return {"rate_class": rate.rate_class, "from_on": rate.from_on, "hour_amount": rate.hour_amount}


def _taken(what: str, amount: Decimal, from_on: date, wanted: Decimal) -> str:
    if amount == wanted:
        return f"{what} is {amount} from {from_on} on file already. There is nothing to set."
    return f"{what} is {amount} from {from_on} on file. Choose another day, or tick “Put that day right”."


@transaction.atomic
def set_call_out(actor: Actor, from_on: date, *, mend: bool = False, seen: str | None = None, **rule: Any) -> CallOutRule:
    """The call-out rule from a date on: the fields of CallOutRule. Raises Refused and Stale as `set_rate`."""
    hold()
    there = CallOutRule.objects.filter(from_on=from_on).first()
    same = there is not None and all(getattr(there, field) == value for field, value in rule.items())
    if there and (same or not mend):
        ask = "There is nothing to set." if same else "Choose another day, or tick “Put that day right”."
        raise Refused(f"A rule from {from_on} is on file{' already' if same else ''}. {ask}", "from_on")
    require_fresh(seen, queries.seen_of(queries.call_out_rules()), STALE)
    kind = "company.call_out_mended" if there else "company.call_out_set"
    try:
        with transaction.atomic():
            kept, _ = CallOutRule.objects.update_or_create(from_on=from_on, defaults=rule)
    except IntegrityError as double:
        raise Refused(f"A rule from {from_on} is on file. Choose another day.", "from_on") from double
    record(kind, actor, payload={"from_on": from_on, **{field: str(value) for field, value in rule.items()}})
    return kept
