"""Take in people and firms, put right what is written of them."""

from decimal import Decimal
from typing import Any

from django.db import transaction

from workshop.customers.models import Approver, Contact, Party
from workshop.history.actions import Actor, record

EVENTS = {
    "customers.added": "took {name} into the address book",
    "customers.changed": "changed what is written of {name}: {changed}",
}
TAKEN_OVER = ("address", "tax_number", "note")


@transaction.atomic
def write_party(
    kind: str,
    name: str,
    *,
    address: str = "",
    phone: str = "",
    email: str = "",
    contact_name: str = "",
    contact_role: str = "",
) -> Party:
    """Writes a party with the one contact it is reached by. Records nothing: a higher verb does. ValueError for a party without a name."""
    if not name.strip():
        raise ValueError("A customer has a name.")
    party = Party.objects.create(kind=Party.Kind(kind), name=name.strip(), address=address.strip())
    write_contact(party, contact_name or name, phone=phone, email=email, role=contact_role)
    return party


def write_contact(party: Party, name: str, phone: str = "", email: str = "", role: str = "") -> Contact:
    """Writes one more person to reach a party by. Records nothing."""
    return Contact.objects.create(party=party, name=name.strip(), phone=phone.strip(), email=email.strip(), role=role.strip())


def write_approver(payer: Party, contact: Contact, limit_gross: Decimal | None = None, rank: int = 1) -> Approver:
    """Writes who may say yes for a payer, up to what cumulative amount including tax (None: any). Records nothing."""
    return Approver.objects.create(payer=payer, contact=contact, limit_gross=limit_gross, rank=rank)


@transaction.atomic
def add_party(
    actor: Actor,
    kind: str,
    name: str,
    *,
    address: str = "",
    phone: str = "",
    email: str = "",
    contact_name: str = "",
    contact_role: str = "",
) -> Party:
    """A new party with one contact. Errors as write_party."""
    party = write_party(kind, name, address=address, phone=phone, email=email, contact_name=contact_name, contact_role=contact_role)
    record("customers.added", actor, payload={"name": party.name, "party": str(party.uid)})
    return party


@transaction.atomic
def change_party(
    actor: Actor, party: Party, contact: Contact | None = None, *, to_reach: dict[str, str] | None = None, **what: str
) -> Party:
    """Rewrites name, kind, address, tax_number or note of a party, and name, phone, email or role of one of its contacts (`to_reach`).

    What stood there before stays in the history. ValueError for an empty name, when nothing is different, or for an entry merged away.
    """
    fresh = Party.objects.select_for_update().get(pk=party.pk)
    if fresh.merged_into_id:
        raise ValueError(f"{fresh} was merged before. Open the entry it went into.")
    if not what.get("name", fresh.name).strip():
        raise ValueError("No name. Write who the customer is.")
    changed = _rewritten(fresh, what)
    if contact is not None and to_reach:
        changed += _rewritten(Contact.objects.select_for_update().get(pk=contact.pk, party=fresh), to_reach)
    if not changed:
        raise ValueError("This is what stands there already. Nothing was changed.")
    record("customers.changed", actor, payload={"name": fresh.name, "party": str(fresh.uid), "changed": "; ".join(changed)})
    return fresh


def _rewritten(row: Party | Contact, what: dict[str, str]) -> list[str]:
    """Writes what is different; says what stood there and what stands there now."""
    new = {name: value.strip() for name, value in what.items() if value.strip() != getattr(row, name)}
    said = [f"{name.replace('_', ' ')} “{getattr(row, name)}” to “{value}”" for name, value in new.items()]
    for name, value in new.items():
        setattr(row, name, value)
    if new:
        row.save(update_fields=list(new))
    return said


def write_merged(keep: Party, drop: Party) -> dict[str, Any]:
    """Moves contacts and approvers of `drop` to `keep`, fills what `keep` lacks, and points `drop` at `keep`. Records nothing.

    Returns what was moved, for the history.
    """
    contacts = list(drop.contacts.order_by("pk").values_list("pk", flat=True))
    approvers = list(drop.approvers.order_by("pk").values_list("pk", flat=True))
    Contact.objects.filter(pk__in=contacts).update(party=keep)
    Approver.objects.filter(pk__in=approvers).update(payer=keep)
    filled = {name: getattr(drop, name) for name in TAKEN_OVER if getattr(drop, name) and not getattr(keep, name)}
    for name, value in filled.items():
        setattr(keep, name, value)
    if filled:
        keep.save(update_fields=list(filled))
    Party.objects.filter(merged_into=drop).update(merged_into=keep)
    Party.objects.filter(pk=drop.pk).update(merged_into=keep)
    return {"contacts": contacts, "approvers": approvers, "filled": filled}
