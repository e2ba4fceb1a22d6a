"""What the verbs of the work sheets share."""

from typing import Any

from workshop.history.actions import Actor, record
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card, Line


def locked(card_id: int) -> Card:
    """The card, locked until commit. Refused for one that is closed or cancelled."""
    card = Card.objects.select_for_update().get(pk=card_id)
    if card.state in {Card.State.CLOSED, Card.State.CANCELLED}:
        raise Refused(f"Card {card} is {card.get_state_display()}. Take a new enquiry for new work.")
    return card


def own_line(card: Card, line: Line | None) -> None:
    """Nothing, if the line is one of the card's and stands. Refused if not."""
    if line is not None and line.card_id != card.pk:
        raise Refused("That line is not on this card.")
    if line is not None and line.answer == Line.Answer.WITHDRAWN:
        raise Refused(f"Line {line.number} is struck. Choose another line.")


def tell(kind: str, actor: Actor, card: Card, **payload: Any) -> None:
    """One line of history on the card and its vehicle."""
    record(kind, actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=payload)
