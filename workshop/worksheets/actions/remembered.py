"""What is to be remembered of a card: deviations, what is to be looked at again, what became of the old parts."""

import uuid as uuids
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card, Line
from workshop.worksheets.actions.common import locked, own_line, refuse_elsewhere, tell
from workshop.worksheets.models import Deviation, FollowUp, Joint, OldPart, OldParts


@transaction.atomic
def add_deviation(
    actor: Actor,
    card: Card,
    *,
    makers_value: str,
    fitted_value: str,
    reason: str,
    agreed_by: str,
    line: Line | None = None,
    joint: Joint | None = None,
    uid: uuids.UUID | None = None,
) -> Deviation:
    """What differs from the maker, why, and who agreed. The same uid gives the one that is there. Refused when a word is missing."""
    now = locked(card.pk)
    if uid and (there := Deviation.objects.filter(uid=uid).first()):
        refuse_elsewhere(there, now)
        return there
    own_line(now, line)
    own_line(now, joint.line if joint else None)
    what = {"makers_value": makers_value, "fitted_value": fitted_value, "reason": reason, "agreed_by": agreed_by}
    if not all(words.strip() for words in what.values()):
        raise Refused("A deviation needs four things: the maker's, ours, why, and who agreed.")
    what = {name: words.strip() for name, words in what.items()}
    made = Deviation.objects.create(uid=uid or uuids.uuid4(), card=now, line=line, joint=joint, by=actor.name, at=clock.now(), **what)
    tell("worksheets.deviated", actor, now, **what)
    return made


@dataclass(frozen=True)
class FollowUpIn:
    """What to look at again, why, and by when: a day, what the vehicle will have run in all, hours in all."""

    words: str
    why: str = ""
    due_on: date | None = None
    due_km: Decimal | None = None
    due_hours: Decimal | None = None


@transaction.atomic
def add_follow_up(actor: Actor, card: Card, what: FollowUpIn, *, uid: uuids.UUID | None = None) -> FollowUp:
    """Something to look at again. The same uid gives the one that is there. Refused without words, or without a day, km or hours."""
    now = locked(card.pk)
    if uid and (there := FollowUp.objects.filter(uid=uid).first()):
        refuse_elsewhere(there, now)
        return there
    if not what.words.strip():
        raise Refused("Nothing written. Say what is to be looked at again.")
    if what.due_on is None and what.due_km is None and what.due_hours is None:
        raise Refused("No day and no distance. Give at least one of them: then it comes back.")
    if what.due_on and what.due_on < clock.today():
        raise Refused(f"{what.due_on:%Y-%m-%d} is over. Write a day to come.")
    made = FollowUp.objects.create(uid=uid or uuids.uuid4(), card=now, by=actor.name, at=clock.now(), **what.__dict__)
    tell("worksheets.follow_up_added", actor, now, words=made.words, due=_due(made))
    return made


def _due(one: FollowUp) -> str:
    told = [f"by {one.due_on:%Y-%m-%d}" if one.due_on else ""]
    told += [
        f"at {one.due_km:,.0f} km" if one.due_km is not None else "",
        f"at {one.due_hours:,.0f} h" if one.due_hours is not None else "",
    ]
    return "".join(f", {part}" for part in told if part)


@transaction.atomic
def close_follow_up(actor: Actor, card: Card, one: FollowUp, state: str, words: str) -> FollowUp:
    """It was done, or the customer refused it; on the card of the visit. Closed so before, it stays.

    Refused without a word, when it was closed otherwise, and on another vehicle's card.
    """
    now = locked(card.pk)
    fresh = FollowUp.objects.select_for_update(of=("self",)).select_related("card").get(pk=one.pk)
    if fresh.card.vehicle_id != now.vehicle_id:
        raise Refused("That belongs to another vehicle.")
    if state not in {FollowUp.State.DONE, FollowUp.State.REFUSED}:
        raise Refused("Choose one: done or refused.")
    if fresh.state != FollowUp.State.OPEN:
        if fresh.state == state:
            return fresh
        raise Refused(f"It was closed as {fresh.get_state_display()} by {fresh.closed_by}. Nothing was changed.")
    if not words.strip():
        raise Refused("No word. Say what was seen, or why it was refused.")
    fresh.state, fresh.closed_words, fresh.closed_card = FollowUp.State(state), words.strip(), now
    fresh.closed_at, fresh.closed_by = clock.now(), actor.name
    fresh.save(update_fields=["state", "closed_words", "closed_card", "closed_at", "closed_by"])
    tell("worksheets.follow_up_closed", actor, now, words=fresh.words, state=fresh.get_state_display(), said=fresh.closed_words)
    return fresh


@transaction.atomic
def answer_old_parts(actor: Actor, card: Card, outcome: str, words: str = "", *, uid: uuids.UUID | None = None) -> OldParts:
    """What became of the old parts of a card; the newest answer counts. The same uid gives the one that is there."""
    now = locked(card.pk)
    if uid and (there := OldParts.objects.filter(uid=uid).first()):
        refuse_elsewhere(there, now)
        return there
    if outcome not in OldPart.values:
        raise Refused("Choose what became of the old parts.")
    made = OldParts.objects.create(uid=uid or uuids.uuid4(), card=now, outcome=outcome, words=words.strip(), by=actor.name, at=clock.now())
    tell("worksheets.old_parts", actor, now, outcome=made.get_outcome_display(), words=made.words)
    return made
