"""Work is started and finished; holds; the card ends."""

from django.db import transaction
from django.db.models import Q

from workshop import clock
from workshop.catalogue.models import Reuse
from workshop.history.actions import Actor
from workshop.jobs.actions.common import Refused, locked, locked_open, refuse_left, refuse_open, require, tell, tell_line
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
    """Writes that an accepted line, locked, has begun; records nothing. Refused as start_line."""
    require("progress", line.progress, Line.Progress.STARTED)
    _refuse_held(card, line, Hold.Stops.START)
    line.progress = Line.Progress.STARTED
    line.save(update_fields=["progress"])


@transaction.atomic
def finish_line(actor: Actor, line: Line) -> Line:
    """An accepted line is done, started or not; everybody's clock on it stops.

    Refused when it is not accepted, was finished before, the vehicle is left, hardware that is never used again is not ticked as new,
    or a hold stops it."""
    card, fresh = accepted(line)
    require("progress", fresh.progress, Line.Progress.DONE)
    _refuse_held(card, fresh, Hold.Stops.START, Hold.Stops.DONE)
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


def _refuse_held(card: Card, line: Line, *stops: str) -> None:
    """A hold on the card or on this line. Opening (start) of a line that is under way is not asked again."""
    wanted = [stop for stop in stops if not (stop == Hold.Stops.START and line.progress == Line.Progress.STARTED)]
    held = card.holds.filter(Q(line=None) | Q(line=line), released_at=None, stops__in=wanted).first()
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
    refuse_left(now)
    undone = now.lines.filter(answer=Line.Answer.ACCEPTED, progress__in=[Line.Progress.PLANNED, Line.Progress.STARTED]).first()
    if undone:
        raise Refused(f"Line {undone.number} is accepted and not done. Finish it, or agree with the customer to leave it.")
    refuse_open(now)
    held = now.holds.filter(line=None, released_at=None, stops=Hold.Stops.READY).first()
    if held:
        raise Refused(f"Not ready. {held.reason}")
    now.state = Card.State.READY
    now.save(update_fields=["state"])
    tell("jobs.ready", actor, now)
    return now


@transaction.atomic
def close_card(actor: Actor, card: Card) -> Card:
    """The visit is over. Refused before the vehicle is ready, while it is left and while something is open."""
    now = locked_open(card)
    require("card", now.state, Card.State.CLOSED)
    refuse_left(now)
    refuse_open(now)
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
