"""Set the business up; give numbers without a gap."""

import json
from datetime import date
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import connection, transaction
from django.db.models import F

from workshop import clock
from workshop.calc import numbering
from workshop.company.models import Company, Rate, Series, TaxRate, Wording
from workshop.history.actions import Actor, record

EVENTS = {
    "company.set_up": "set up {name} with the tax profile {profile}",
    "company.rate_set": "set the hour of {rate_class} to {hour_amount} from {from_on}",
    "company.worded": "wrote version {no} of the text {kind}",
}


class DateGoesBack(Exception):
    """A document would be dated before the last one of its series."""


def tax_profile(name: str) -> dict[str, Any]:
    """A tax profile of fixtures/tax as it is written there. Raises LookupError for an unknown one."""
    path = settings.BASE_DIR / "fixtures/tax" / f"{name}.json"
    if not path.is_file():
        raise LookupError(f"There is no tax profile {name}.")
    profile: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return profile


@transaction.atomic
def set_up(actor: Actor, *, name: str, address: str, phone: str, tax_profile_name: str, **more: Any) -> Company:
    """Makes the one business, with the rates of its tax profile. Raises ValueError when there is one already."""
    if Company.objects.exists():
        raise ValueError("The business is set up already.")
    profile = tax_profile(tax_profile_name)
    company = Company.objects.create(
        name=name,
        address=address,
        phone=phone,
        country=profile["country"],
        currency=profile["currency"],
        tax_profile=tax_profile_name,
        **more,
    )
    TaxRate.objects.bulk_create(
        TaxRate(code=r["code"], from_on=date.fromisoformat(r["from_on"]), rate=Decimal(r["rate"]), name=r["name"], source=r["source"])
        for r in profile["rates"]
    )
    record("company.set_up", actor, payload={"name": name, "profile": tax_profile_name})
    return company


@transaction.atomic
def set_rate(actor: Actor, rate_class: str, from_on: date, hour_amount: Decimal) -> Rate:
    """What an hour of a class costs from a date on."""
    rate, _ = Rate.objects.update_or_create(rate_class=rate_class, from_on=from_on, defaults={"hour_amount": hour_amount})
    record("company.rate_set", actor, payload={"rate_class": rate_class, "from_on": from_on, "hour_amount": hour_amount})
    return rate


@transaction.atomic
def write_wording(actor: Actor, kind: str, text: str) -> Wording:
    """The next version of a text; the older ones stay."""
    last = Wording.objects.filter(kind=kind).order_by("-no").first()
    wording = Wording.objects.create(kind=kind, no=last.no + 1 if last else 1, text=text, from_at=clock.now())
    record("company.worded", actor, payload={"kind": kind, "no": wording.no})
    return wording


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
    return numbering.number(kind, on.year, series.value)
