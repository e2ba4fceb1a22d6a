"""Set the business up and change what stands on its paper."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from workshop.company import queries
from workshop.company.actions.common import hold, require_fresh
from workshop.company.models import Company, TaxRate
from workshop.history.actions import Actor, record


@transaction.atomic
def set_up(actor: Actor, *, name: str, address: str, phone: str, tax_profile_name: str, **more: Any) -> Company:
    """Makes the one business, with the rates of its tax profile. Raises ValueError when there is one already.

    `country` and `currency` in `more` win over the profile's; a profile of no country needs them."""
    if Company.objects.exists():
        raise ValueError("The business is set up already.")
    profile = queries.tax_profile(tax_profile_name)
    place = {"country": profile["country"], "currency": profile["currency"]}
    company = Company.objects.create(name=name, address=address, phone=phone, tax_profile=tax_profile_name, **{**place, **more})
    TaxRate.objects.bulk_create(
        TaxRate(code=r["code"], from_on=date.fromisoformat(r["from_on"]), rate=Decimal(r["rate"]), name=r["name"], source=r["source"])
        for r in profile["rates"]
    )
    record("company.set_up", actor, payload={"name": name, "profile": tax_profile_name})
    return company


@transaction.atomic
def change_identity(actor: Actor, *, seen: str | None = None, **typed: Any) -> list[str]:
    """Changes name, address and the other fields of `queries.IDENTITY`; the words of what changed.

    Nothing new: nothing is written and nothing recorded. Raises Stale when the sheet that showed `seen` is out of date."""
    company = hold()
    if company is None:
        raise LookupError("The business is not set up yet.")
    changed = {field: value for field, value in typed.items() if getattr(company, field) != value}
    if not changed:
        return []
    differs = "; ".join(f"{queries.IDENTITY[field]}: {getattr(company, field) or 'empty'}" for field in changed)
    require_fresh(seen, queries.seen_of_identity(company), f"Somebody saved this sheet after you opened it. On file now: {differs}.")
    was = {field: getattr(company, field) for field in changed}
    for field, value in changed.items():
        setattr(company, field, value)
    company.save(update_fields=[*changed])
    words = [queries.IDENTITY[field] for field in changed]
    record("company.changed", actor, payload={"what": ", ".join(words), "was": was, "now": changed})
    return words
