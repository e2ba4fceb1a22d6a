"""What the verbs of a card share."""

from typing import Any

from django.db.models import Q

from workshop.calc import transitions
from workshop.history.actions import Actor, record
from workshop.jobs.models import Card, Episode, Hold, Line
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


def refuse_held(card: Card, said: str = "Not ready.") -> None:
    """Nothing, if no hold keeps the vehicle: neither one of the card on ready, nor one on ordered work that was begun, set again after
    it was done. Refused with `said` and its reason. A planned line is not asked: nothing was taken apart for it."""
    done_wrong = Q(line__answer=Line.Answer.ACCEPTED, stops=Hold.Stops.DONE) & ~Q(line__progress=Line.Progress.PLANNED)
    held = card.holds.filter(Q(line=None, stops=Hold.Stops.READY) | done_wrong, released_at=None).order_by("pk").first()
    if held:
        raise Refused(f"{said} {held.reason}")


def refuse_not_ready(card: Card, said: str = "Not ready.") -> None:
    """Nothing, if the vehicle may leave: somebody is with it, ordered work is done, every step is closed, no hold keeps it."""
    refuse_left(card)
    ordered = card.lines.filter(answer=Line.Answer.ACCEPTED).exclude(kind=Line.Kind.FIRST_PRICE)  # a call-out is done by coming
    undone = ordered.filter(progress__in=[Line.Progress.PLANNED, Line.Progress.STARTED]).first()
    if undone:
        raise Refused(f"Line {undone.number} is accepted and not done. Finish it, or agree with the customer to leave it.")
    refuse_open(card)
    refuse_held(card, said)


def write_open(card: Card) -> None:
    """A ready card, locked, is open again: there is work on it. Records nothing: what was begun stands in the history."""
    if card.state == Card.State.READY:
        require("card", card.state, Card.State.OPEN)
        card.state = Card.State.OPEN
        card.save(update_fields=["state"])


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
