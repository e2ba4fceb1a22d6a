"""What the customer says: each complaint by itself, what is asked about it, what comes of it."""

import uuid as uuids

from django.db import transaction

from workshop.history.actions import Actor
from workshop.jobs.actions.common import Refused, locked, locked_open, tell
from workshop.jobs.models import Card, Complaint

TOLD = {
    "noticed_by": "noticed by",
    "since": "since",
    "heat": "cold or hot",
    "load": "load",
    "smoke": "smoke",
    "lamps": "lamps",
    "last_work": "last work",
    "tried": "tried without success",
}
OUTCOMES = "Choose one: cured, better, not found, not done."


def write_complaint(card: Card, words: str, told: dict[str, str], uid: uuids.UUID | None = None) -> Complaint:
    """Writes one complaint with what was told about it (names as in TOLD). Records nothing: a higher verb does."""
    clean = {name: told.get(name, "").strip() for name in TOLD}
    return Complaint.objects.create(uid=uid or uuids.uuid4(), card=card, words=words.strip(), **clean)


@transaction.atomic
def add_complaint(actor: Actor, card: Card, words: str, told: dict[str, str], uid: uuids.UUID | None = None) -> Complaint:
    """One more complaint. The same uid gives the one that is there. Refused without words, for a card that is over, or when the uid
    stands on another card."""
    now = locked_open(card)
    if uid and (there := Complaint.objects.filter(uid=uid).first()):
        if there.card_id != card.pk:
            raise Refused("This complaint already stands on another card. Write it again here.")
        return there
    if not words.strip():
        raise Refused("Nothing written. Write what the customer says, word for word.")
    complaint = write_complaint(now, words, told, uid)
    tell("jobs.complaint_added", actor, now, words=complaint.words[:200])
    return complaint


@transaction.atomic
def complete_complaint(actor: Actor, complaint: Complaint, told: dict[str, str]) -> Complaint:
    """What was asked about a complaint (names as in TOLD); its words stay. Told twice the same, nothing is written.

    What stood there before goes into the history. Refused for a card that is over."""
    card = locked_open(complaint.card)
    fresh = Complaint.objects.select_for_update().get(pk=complaint.pk)
    new = {name: told[name].strip() for name in TOLD if name in told and told[name].strip() != getattr(fresh, name)}
    if not new:
        return fresh
    said = "; ".join(f"{TOLD[name]} “{getattr(fresh, name)}” to “{value}”" for name, value in new.items())
    for name, value in new.items():
        setattr(fresh, name, value)
    fresh.save(update_fields=list(new))
    tell("jobs.complaint_told", actor, card, words=fresh.words[:80], told=said)
    return fresh


@transaction.atomic
def set_outcome(actor: Actor, complaint: Complaint, outcome: str) -> Complaint:
    """What came of a complaint: cured, better, not_found or not_done. Said twice the same, nothing is written.

    A closed card still takes it: the customer may tell later. Refused for another word and for a cancelled card."""
    if outcome not in Complaint.Outcome.values:
        raise Refused(OUTCOMES)
    card = locked(complaint.card)
    if card.state == Card.State.CANCELLED:
        raise Refused(f"Card {card} is cancelled. Nothing came of it.")
    fresh = Complaint.objects.select_for_update().get(pk=complaint.pk)
    if fresh.outcome == outcome:
        return fresh
    fresh.outcome = outcome
    fresh.save(update_fields=["outcome"])
    tell("jobs.complaint_ended", actor, card, words=fresh.words[:80], outcome=fresh.get_outcome_display())
    return fresh
