"""Find people and firms."""

from django.db.models import Q, QuerySet

from workshop.customers.models import Approver, Contact, Party


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


def entries(party: Party) -> list[int]:
    """The ids under which a party was ever written down: its own, and those that were merged into it. Frozen papers name any of them."""
    return [party.pk, *party.merged.values_list("pk", flat=True)]
