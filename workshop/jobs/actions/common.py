"""What the verbs of a card share."""

from typing import Any

from workshop.calc import transitions
from workshop.history.actions import Actor, record
from workshop.jobs.models import Card, Episode, Line
from workshop.pages.templatetags.pages_format import moment


class Refused(ValueError):
    """A sentence for the person: what is wrong, what to do. Nothing was changed."""


def locked(card: Card) -> Card:
    """The card as it is now, locked until commit. Locks come in the order card, series, chain head."""
    return Card.objects.select_for_update().get(pk=card.pk)


def locked_open(card: Card) -> Card:
    """The card, locked. Refused for one that is closed or cancelled: no transition leaves those states."""
    now = locked(card)
    if now.state in {Card.State.CLOSED, Card.State.CANCELLED}:
        raise Refused(f"Card {now} is {now.get_state_display()}. Take a new enquiry for new work.")
    return now


def refuse_left(card: Card) -> None:
    """Nothing, if somebody is with the vehicle. Refused while it is left: coming back starts with a look at it."""
    if left := card.leavings.filter(back_at=None).first():
        raise Refused(f"The vehicle was left on {moment(left.left_at)}. Coming back starts with a look at it.")


def refuse_open(card: Card) -> None:
    """Nothing, if every step of the card is closed. Refused while one is open or closing."""
    gaping = Episode.objects.filter(step__card=card, closed_at=None).select_related("step").order_by("-step__position").first()
    if gaping:
        raise Refused(f"{gaping.step} is still open. Close it on the work sheet first.")


def require(machine: str, now: str, then: str) -> None:
    """Nothing, if calc.transitions allows the change. Refused with its sentence if not."""
    try:
        transitions.require(machine, now, then)
    except transitions.Refused as refused:
        raise Refused(refused.sentence) from refused


def tell(kind: str, actor: Actor, card: Card, **payload: Any) -> None:
    """One line of history on the card and its vehicle."""
    record(kind, actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=payload)


def tell_line(kind: str, actor: Actor, card: Card, line: Line) -> None:
    """One line of history that names a line of work."""
    tell(kind, actor, card, number=line.number, words=line.words)
