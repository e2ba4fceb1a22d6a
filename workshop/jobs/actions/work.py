"""Work is started and finished; holds; the card ends."""

from django.db import transaction
from django.db.models import Q

from workshop import clock
from workshop.catalogue.models import Reuse
from workshop.history.actions import Actor
from workshop.jobs.actions.common import (
    Refused,
    locked,
    locked_open,
    refuse_left,
    refuse_not_ready,
    require,
    tell,
    tell_line,
    write_open,
)
from workshop.jobs.models import Card, Hold, Line, Spell


@transaction.atomic
def start_line(actor: Actor, line: Line) -> Line:
    """Work on an accepted line begins, without a clock. Refused when it is not accepted, was begun before, the vehicle is left, or a
    hold stops the start."""
    card, fresh = accepted(line)
    write_start(card, fresh)
    tell_line("jobs.line_started", actor, card, fresh)
    return fresh


def write_start(card: Card, line: Line) -> None:
    """Writes that an accepted line, locked, has begun, and that a ready card is open again; records nothing. Refused as start_line."""
    require("progress", line.progress, Line.Progress.STARTED)
    refuse_line_held(card, line, Hold.Stops.START)
    write_open(card)
    line.progress = Line.Progress.STARTED
    line.save(update_fields=["progress"])


@transaction.atomic
def finish_line(actor: Actor, line: Line) -> Line:
    """An accepted line is done, started or not; everybody's clock on it stops.

    Refused when it is not accepted, was finished before, the vehicle is left, hardware that is never used again is not ticked as new,
    or a hold stops it."""
    card, fresh = accepted(line)
    require("progress", fresh.progress, Line.Progress.DONE)
    under_way = fresh.progress == Line.Progress.STARTED  # what was begun is brought to an end, also where no more is begun
    refuse_line_held(card, fresh, *([] if under_way else [Hold.Stops.START]), Hold.Stops.DONE)
    _refuse_old_hardware(fresh)
    fresh.progress, fresh.done_at = Line.Progress.DONE, clock.now()
    fresh.save(update_fields=["progress", "done_at"])
    Spell.objects.filter(line=fresh, stopped_at=None).update(stopped_at=fresh.done_at)
    tell_line("jobs.line_finished", actor, card, fresh)
    return fresh


def accepted(line: Line) -> tuple[Card, Line]:
    """The card and the line, locked. Refused for a line that is not ordered, a card that is over and a vehicle that is left."""
    card = locked_open(line.card)
    fresh = Line.objects.select_for_update().get(pk=line.pk)
    if fresh.answer != Line.Answer.ACCEPTED:
        raise Refused(f"Line {fresh.number} is {fresh.get_answer_display()}. Work begins when the customer has accepted it.")
    refuse_left(card)
    fresh.card = card
    return card, fresh


def refuse_line_held(card: Card, line: Line, *stops: str) -> None:
    """Nothing, if no open hold on the card or on this line stops one of these. Refused with its reason."""
    held = card.holds.filter(Q(line=None) | Q(line=line), released_at=None, stops__in=stops).first()
    if held:
        raise Refused(f"Line {line.number} is held. {held.reason}")


def _refuse_old_hardware(line: Line) -> None:
    old = line.parts.filter(reuse=Reuse.NEVER, fitted_new_at=None).order_by("pk").first()
    if old:
        are = "is" if old.quantity == 1 else "are"
        raise Refused(f"{old.counted} {are} single-use: tick that new ones are in. Then line {line.number} can be done.")


@transaction.atomic
def mark_ready(actor: Actor, card: Card) -> Card:
    """The vehicle may leave. Refused while it is left, an accepted line is not done, something is open, or a hold stops it."""
    now = locked_open(card)
    require("card", now.state, Card.State.READY)
    refuse_not_ready(now)
    now.state = Card.State.READY
    now.save(update_fields=["state"])
    tell("jobs.ready", actor, now)
    return now


@transaction.atomic
def close_card(actor: Actor, card: Card) -> Card:
    """The visit is over. Refused before the vehicle is ready, and when something came up since that keeps it from being so."""
    now = locked_open(card)
    require("card", now.state, Card.State.CLOSED)
    refuse_not_ready(now)
    now.state, now.closed_at = Card.State.CLOSED, clock.now()
    now.save(update_fields=["state", "closed_at"])
    tell("jobs.closed", actor, now)
    return now


@transaction.atomic
def write_hold(card: Card, line: Line | None, stops: str, reason: str, by_room: str) -> Hold:
    """Writes what must be cleared first; records nothing. The same open hold of a room is not set twice."""
    now = locked(card)
    there = now.holds.filter(line=line, stops=stops, by_room=by_room, released_at=None).first()
    hold = there or Hold(card=now, line=line, stops=Hold.Stops(stops), by_room=by_room, set_at=clock.now())
    hold.reason = reason
    hold.save()
    return hold


@transaction.atomic
def write_release(hold: Hold, by: str, why: str) -> None:
    """Clears a hold that is still open; records nothing."""
    Hold.objects.filter(pk=hold.pk, released_at=None).update(released_at=clock.now(), released_by=by[:120], why=why[:200])
