"""What the verbs of the work sheets share."""

from typing import Any

from django.db.models import Model

from workshop.history.actions import Actor, record
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card, Line
from workshop.pages.boxes import LOST


def locked(card_id: int) -> Card:
    """The card, locked until commit. Refused for one that is closed or cancelled."""
    card = Card.objects.select_for_update().get(pk=card_id)
    if card.state in {Card.State.CLOSED, Card.State.CANCELLED}:
        raise Refused(f"Card {card} is {card.get_state_display()}. Take a new enquiry for new work.")
    return card


def locked_together(card_id: int) -> Card:
    """The card, locked with every other card of its vehicle in the order of their ids: what is done to a part of the vehicle may set
    or clear a hold on an earlier card, and two who do so never wait for each other. Refused as locked."""
    vehicle_id = Card.objects.values_list("vehicle_id", flat=True).get(pk=card_id)
    list(Card.objects.select_for_update().filter(vehicle_id=vehicle_id).order_by("pk"))
    return locked(card_id)


def refuse_elsewhere(there: Model, card: Card) -> None:
    """Nothing, if the record a page made before is the card's. Refused when the page's number was used on another card."""
    if there.card_id != card.pk:  # type: ignore[attr-defined]
        raise Refused(LOST)


def own_line(card: Card, line: Line | None) -> None:
    """Nothing, if the line is one of the card's and stands. Refused if not."""
    if line is not None and line.card_id != card.pk:
        raise Refused("That line is not on this card.")
    if line is not None and line.answer == Line.Answer.WITHDRAWN:
        raise Refused(f"Line {line.number} is struck. Choose another line.")


def tell(kind: str, actor: Actor, card: Card, **payload: Any) -> None:
    """One line of history on the card and its vehicle."""
    record(kind, actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=payload)
