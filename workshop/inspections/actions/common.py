"""What the verbs of this room share."""

from workshop.inspections.models import CodeRead, CodesCleared, Finding, Intake, SiteCheck
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card

ROOM = "inspections"


def locked(card: Card) -> None:
    """Nobody else changes the card until commit."""
    Card.objects.select_for_update().get(pk=card.pk)


def on[T: (SiteCheck, Finding, Intake, CodeRead, CodesCleared)](there: T, card: Card) -> T:
    """What the same page saved before. Refused when that was on another card."""
    if there.card_id != card.pk:
        raise Refused("This was saved before, on another card. Make it anew here.")
    return there
