"""What the verbs of this room share."""

from workshop.inspections.models import CodeRead, CodesCleared, Finding, Intake, SiteCheck
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card

ROOM = "inspections"


def locked(card: Card) -> Card:
    """The card as it is now; nobody else changes it until commit."""
    return Card.objects.select_for_update().get(pk=card.pk)


def refuse_cancelled(card: Card) -> None:
    """Nothing, unless the card is cancelled. A closed one takes what a phone sends late."""
    if card.state == Card.State.CANCELLED:
        raise Refused(f"Card {card} is cancelled. Take a new enquiry for new work.")


def on[T: (SiteCheck, Finding, Intake, CodeRead, CodesCleared)](there: T, card: Card) -> T:
    """What the same page saved before. Refused when that was on another card."""
    if there.card_id != card.pk:
        raise Refused("This was saved before, on another card. Make it anew here.")
    return there
