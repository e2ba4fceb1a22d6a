"""Find people and firms."""

from django.db import connection
from django.db.models import Q, QuerySet

from workshop.customers.models import Approver, Contact, Party

LAST = "\U0010ffff"  # stands behind every letter
LEAST_TYPED = 3


def party(pk: int) -> Party | None:
    """The party with its contacts, or the one it was merged into, or None."""
    found = Party.objects.select_related("merged_into").prefetch_related("contacts").filter(pk=pk).first()
    return found and (found.merged_into or found)


def main_contact(party: Party) -> Contact | None:
    """Whom to call: the contact that was written first."""
    return party.contacts.order_by("pk").first()


def approvers(payer: Party) -> QuerySet[Approver]:
    """Who may say yes for a payer, first asked first."""
    return Approver.objects.filter(payer=payer).select_related("contact")


def matching(words: str, most: int = 7) -> QuerySet[Party]:
    """Parties whose name, or a contact's name or number, holds these words."""
    found = Q(name__icontains=words) | Q(contacts__name__icontains=words) | Q(contacts__phone__icontains=words)
    return Party.objects.filter(found, merged_into=None).distinct().order_by("name")[:most]


def beginning(column: str, typed: str) -> Q:
    """Rows whose column begins so, capitals as typed. SQLite reads no index for LIKE, so it is given the stretch of the index as well;
    PostgreSQL has an index for LIKE, and its collation may order the stretch otherwise."""
    begins = Q(**{f"{column}__startswith": typed})
    return begins & Q(**{f"{column}__gte": typed, f"{column}__lt": typed + LAST}) if connection.vendor == "sqlite" else begins


def known(name: str, phone: str, most: int = 5) -> list[Party]:
    """Parties whose name, or a contact's number, begins so: what is recognised while somebody types. Three characters at least, by the
    index. At most three queries."""
    found: dict[int, Party] = {}
    if len(name) >= LEAST_TYPED:
        named = Q(beginning("name", name) | beginning("name", name.title()))
        found |= {party.pk: party for party in Party.objects.filter(named, merged_into=None).order_by("name")[:most]}
    if len(phone) >= LEAST_TYPED:
        reached = Contact.objects.filter(beginning("phone", phone), party__merged_into=None).select_related("party")
        found |= {contact.party_id: contact.party for contact in reached.order_by("phone")[:most]}
    return list(found.values())[:most]


def entries(party: Party) -> list[int]:
    """The ids under which a party was ever written down: its own, and those that were merged into it. Frozen papers name any of them."""
    return [party.pk, *party.merged.values_list("pk", flat=True)]
