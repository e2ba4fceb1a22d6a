"""Take in people and firms."""

from decimal import Decimal

from django.db import transaction

from workshop.customers.models import Approver, Contact, Party
from workshop.history.actions import Actor, record

EVENTS = {"customers.added": "took {name} into the address book"}


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
