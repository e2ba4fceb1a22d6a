"""The hours under the vehicle: who works on which line from when to when, and what goes in new."""

import uuid as uuids
from datetime import datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Q

from workshop import clock
from workshop.history.actions import Actor
from workshop.jobs.actions.common import Refused, locked, locked_open, tell, tell_line, write_open
from workshop.jobs.actions.mend import reason_of
from workshop.jobs.actions.work import accepted, refuse_line_held, write_start
from workshop.jobs.models import Card, Hold, Line, LinePart, Spell
from workshop.pages.boxes import LOST
from workshop.pages.templatetags.pages_format import moment
from workshop.staff.models import User

FORGOTTEN = timedelta(hours=12)  # house rule: a clock that ran longer was not stopped
LONGEST = timedelta(hours=24)
MOST_IN_HAND = Decimal("99999.999")


def locked_person(person: User) -> User:
    """The person, locked until commit, so that one has one clock. Taken before the card; rows that name the person may still be written."""
    return User.objects.select_for_update(no_key=True).get(pk=person.pk)


@transaction.atomic
def start_spell(actor: Actor, line: Line, person: User, uid: uuids.UUID | None = None) -> Spell:
    """The person works on an accepted line from now on; the clock of another line stops. A planned line is started by it.

    The same uid, or a clock that runs on this line already, gives the spell that is there. Refused as start_line, and for a line that
    is done."""
    locked_person(person)
    if uid and (there := Spell.objects.filter(uid=uid).first()):
        if (there.person_id, there.line_id) != (person.pk, line.pk):
            raise Refused(LOST)
        return there
    card, fresh = accepted(line)
    if fresh.progress in {Line.Progress.DONE, Line.Progress.CHECKED}:
        raise Refused(f"Line {fresh.number} is {fresh.get_progress_display()} already. Time on it is put right, not added.")
    running = Spell.objects.filter(person=person, stopped_at=None).select_related("line__card").first()
    if running and running.line_id == fresh.pk:
        return running
    begins = fresh.progress == Line.Progress.PLANNED
    if begins:
        write_start(card, fresh)
    else:
        refuse_line_held(card, fresh, Hold.Stops.START)  # the place may have been refused since the work began
        write_open(card)
    now = clock.now()
    if running:
        _write_stop(running, now)
    spell = Spell.objects.create(uid=uid or uuids.uuid4(), line=fresh, person=person, started_at=now)
    if running:
        tell("jobs.spell_changed", actor, card, left=_named(running.line, card), number=fresh.number, words=fresh.words)
    else:
        tell_line("jobs.line_started" if begins else "jobs.spell_started", actor, card, fresh)
    return spell


def _named(line: Line, here: Card) -> str:
    return f"line {line.number}" if line.card_id == here.pk else f"line {line.number} of card {line.card}"


def _write_stop(spell: Spell, now: datetime) -> None:
    """Stops a clock now; one that was put right to begin later than now never runs backwards."""
    spell.stopped_at = max(now, spell.started_at)
    spell.save(update_fields=["stopped_at"])


@transaction.atomic
def stop_spell(actor: Actor, person: User) -> Spell | None:
    """Stops the person's clock, whichever line it runs on: the spell, or None when none runs. A second tap changes nothing."""
    locked_person(person)
    running = Spell.objects.select_for_update(of=("self",)).filter(person=person, stopped_at=None).select_related("line__card").first()
    if not running:
        return None
    _write_stop(running, clock.now())
    tell_line("jobs.spell_stopped", actor, running.line.card, running.line)
    return running


@transaction.atomic
def correct_spell(actor: Actor, spell: Spell, *, by: User, started_at: datetime, stopped_at: datetime | None, reason: str) -> Spell:
    """Puts the times of a spell right (aware; `stopped_at` None: it still runs); what they were stays in the history. The same times
    again change nothing.

    Refused without a reason, for somebody else's time unless an owner does it, backwards, to come, longer than a day, over another
    spell of that person, a clock that is made to run again, and on a cancelled card. A closed card
    takes it: a forgotten clock is found late.
    """
    why = reason_of(reason)
    locked_person(spell.person)
    card = locked(spell.line.card)
    fresh = Spell.objects.select_for_update(of=("self",)).select_related("line", "person").get(pk=spell.pk)
    if card.state == Card.State.CANCELLED:
        raise Refused(f"Card {card} is cancelled. Its times stay as they are.")
    if by.role != User.Role.OWNER and by.pk != fresh.person_id:
        raise Refused(f"This is the time of {fresh.person}. {fresh.person} or the owner puts it right.")
    if (fresh.started_at, fresh.stopped_at) == (started_at, stopped_at):
        return fresh
    _refuse_times(fresh, started_at, stopped_at)
    was, fresh.started_at, fresh.stopped_at, fresh.changed_reason = _times(fresh), started_at, stopped_at, why
    fresh.save(update_fields=["started_at", "stopped_at", "changed_reason"])
    tell("jobs.spell_corrected", actor, card, person=str(fresh.person), number=fresh.line.number, was=was, now=_times(fresh), reason=why)
    return fresh


def _times(spell: Spell) -> str:
    return f"{moment(spell.started_at)} to {moment(spell.stopped_at) if spell.stopped_at else 'now'}"


def _refuse_times(spell: Spell, start: datetime, stop: datetime | None) -> None:
    now = clock.now()
    if stop is None and spell.stopped_at:
        raise Refused("This clock was stopped. Write when work ended, or start the line again.")
    if start > now or (stop and stop > now):
        raise Refused("That is still to come. Write times that have been.")
    if stop and stop < start:
        raise Refused("It ends before it begins. Put one of the two right.")
    if (stop or now) - start > LONGEST:
        raise Refused("More than 24 hours. Nobody works that long: put the times right, or split them.")
    over = Spell.objects.filter(Q(stopped_at=None) | Q(stopped_at__gt=start), person=spell.person, started_at__lt=stop or now)
    if other := over.exclude(pk=spell.pk).select_related("line__card").order_by("started_at").first():
        raise Refused(
            f"{spell.person} was on line {other.line.number} of card {other.line.card} from {_times(other)}. One person, one clock."
        )


@transaction.atomic
def fit_new(actor: Actor, part: LinePart, new: bool = True) -> LinePart:
    """Ticks that new ones are in, or takes the tick back (`new` False). The same again changes nothing.

    Refused for hardware that may go back in, a line that is not ordered or is done, and a vehicle that is left."""
    card, line = accepted(part.line)
    fresh = LinePart.objects.select_for_update().get(pk=part.pk)
    if not fresh.never_again:
        raise Refused(f"{fresh.words} may be used again. Only hardware that is never used again is ticked.")
    if bool(fresh.fitted_new_at) == new:
        return fresh
    if line.progress in {Line.Progress.DONE, Line.Progress.CHECKED}:
        raise Refused(f"Line {line.number} is {line.get_progress_display()}. Its ticks stay.")
    fresh.fitted_new_at, fresh.fitted_new_by = (clock.now(), actor.name[:120]) if new else (None, "")
    fresh.save(update_fields=["fitted_new_at", "fitted_new_by"])
    tell("jobs.fitted_new" if new else "jobs.fitted_new_taken_back", actor, card, number=line.number, words=fresh.counted)
    return fresh


@transaction.atomic
def count_in_hand(actor: Actor, part: LinePart, in_hand: Decimal) -> LinePart:
    """How many of a part are in hand; fewer than the line needs, and the card says what it waits for. The same again changes nothing.

    Refused below zero, over 99,999.999, finer than a thousandth, and for a card that is over."""
    card = locked_open(part.line.card)
    fresh = LinePart.objects.select_for_update(of=("self",)).select_related("line").get(pk=part.pk)
    if not in_hand.is_finite() or in_hand < 0 or in_hand > MOST_IN_HAND or in_hand != round(in_hand, 3):
        raise Refused("That is no count. Write how many are in hand, from 0.")
    if fresh.in_hand == in_hand:
        return fresh
    fresh.in_hand = in_hand
    fresh.save(update_fields=["in_hand"])
    tell("jobs.counted", actor, card, in_hand=f"{in_hand.normalize():f}", words=fresh.counted, number=fresh.line.number)
    return fresh
