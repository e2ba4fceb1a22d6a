"""Put right what is wrong on a card. Nothing vanishes: what was there before stands in the history or in a column of its own."""

from collections.abc import Callable

from django.db import transaction

from workshop import clock
from workshop.catalogue.actions import PartIn
from workshop.history.actions import Actor
from workshop.jobs.actions.common import Refused, locked, locked_open, refuse_left, refuse_open, require, tell
from workshop.jobs.actions.lines import write_line
from workshop.jobs.actions.work import write_release
from workshop.jobs.models import Card, Complaint, Hold, Line

MOST_REASON, MOST_WORDS = 200, 2000
BEGUN = (Line.Progress.STARTED, Line.Progress.DONE, Line.Progress.CHECKED)


def reason_of(text: str) -> str:
    """The reason on one line. Refused when there is none or it is longer than 200 characters."""
    why = " ".join(text.split())
    if not why:
        raise Refused("No reason. Say why, in one sentence: it stays in the history.")
    if len(why) > MOST_REASON:
        raise Refused(f"{len(why):,} characters. At most {MOST_REASON}: one sentence.")
    return why


@transaction.atomic
def strike_line(actor: Actor, line: Line, reason: str, *, billed: Callable[[Line], str]) -> Line:
    """A line that should not be there is withdrawn; it stays on the card with its reason, and its holds are cleared.

    Refused for a line that lies before the customer or is counted in a quote that does (take it back first), for one that is
    accepted and begun, and when `billed` says so: the higher room that knows documents gives a sentence, or nothing.
    """
    why, card = reason_of(reason), locked_open(line.card)
    fresh = Line.objects.select_for_update().get(pk=line.pk)
    if fresh.answer == Line.Answer.OFFERED:
        raise Refused(f"Line {fresh.number} lies before the customer. Take the quote back, then strike it.")
    if fresh.answer == Line.Answer.ACCEPTED and fresh.progress in BEGUN:
        raise Refused(f"Line {fresh.number} was ordered and is {fresh.get_progress_display()}. It stays: write a note, or credit it later.")
    if fresh.answer == Line.Answer.ACCEPTED and card.lines.filter(answer=Line.Answer.OFFERED).exists():
        raise Refused(f"A quote that counts line {fresh.number} lies before the customer. Take it back, then strike the line.")
    if stands := billed(fresh):
        raise Refused(stands)
    require("answer", fresh.answer, Line.Answer.WITHDRAWN)
    was = fresh.get_answer_display()
    fresh.answer, fresh.struck_reason = Line.Answer.WITHDRAWN, why
    fresh.save(update_fields=["answer", "struck_reason"])
    for hold in Hold.objects.filter(line=fresh, released_at=None):
        write_release(hold, actor.name, f"Line {fresh.number} was struck: {why}")
    tell("jobs.line_struck", actor, card, number=fresh.number, words=fresh.words, was=was, reason=why)
    return fresh


@transaction.atomic
def cancel_card(actor: Actor, card: Card, reason: str, *, billed: Callable[[Card], str]) -> Card:
    """A card that comes to nothing. It stays, with everything on it.

    Refused while a line lies before the customer, the vehicle is left or something on it is open, when ordered work was begun, and
    when `billed` says so: the higher room that knows documents gives a sentence, or nothing. It is asked while the card is locked.
    """
    why, now = reason_of(reason), locked(card)
    require("card", now.state, Card.State.CANCELLED)
    if sentence := billed(now):
        raise Refused(sentence)
    if offered := now.lines.filter(answer=Line.Answer.OFFERED).first():
        raise Refused(f"Line {offered.number} lies before the customer. Take the quote back, then cancel the card.")
    if begun := now.lines.filter(answer=Line.Answer.ACCEPTED, progress__in=BEGUN).first():
        raise Refused(f"Line {begun.number} was ordered and is {begun.get_progress_display()}. Finish the card and invoice what was done.")
    refuse_left(now)
    refuse_open(now)
    now.state, now.closed_at, now.ended_reason = Card.State.CANCELLED, clock.now(), why
    now.save(update_fields=["state", "closed_at", "ended_reason"])
    tell("jobs.cancelled", actor, now, reason=why)
    return now


@transaction.atomic
def change_complaint(actor: Actor, complaint: Complaint, words: str, reason: str) -> Complaint:
    """The customer's words, written down wrongly, are put right; the old ones stay in the history. Refused when empty or the same,
    and on a cancelled card."""
    why, card = reason_of(reason), locked(complaint.card)
    if card.state == Card.State.CANCELLED:
        raise Refused(f"Card {card} is cancelled. Its words stay as they are.")
    fresh, said = Complaint.objects.select_for_update().get(pk=complaint.pk), words.strip()
    if not said or len(said) > MOST_WORDS:
        raise Refused(f"{len(said):,} characters. The customer’s words have 1 to {MOST_WORDS:,}.")
    if said == fresh.words:
        raise Refused("These are the words that stand there. Nothing was changed.")
    old, fresh.words = fresh.words, said
    fresh.save(update_fields=["words"])
    tell("jobs.complaint_changed", actor, card, old=old, words=said, reason=why)
    return fresh


def write_again(card: Card, declined: Line) -> Line:
    """Writes a draft on this card of a line that was answered "not now" on an earlier one, at the old minutes and prices, without
    access steps: those are the card's own. Records nothing. Asked twice it gives the draft that is there. Refused for another vehicle's.
    """
    now = locked_open(card)
    if there := now.lines.filter(repeats=declined).exclude(answer=Line.Answer.WITHDRAWN).first():
        return there
    if declined.answer != Line.Answer.NOT_NOW or declined.card_id == now.pk or declined.card.vehicle_id != now.vehicle_id:
        raise Refused(f"“{declined.words}” was not answered “not now” on an earlier card of this vehicle. Make a new line.")
    parts = [PartIn.of(part) for part in declined.parts.order_by("pk")]
    names = ("kind", "words", "plain_words", "if_left", "own_minutes", "fixed_amount", "fixed_reason", "critical")
    line = write_line(now, parts=parts, **{name: getattr(declined, name) for name in names})
    line.rate_class, line.tax_code, line.repeats = declined.rate_class, declined.tax_code, declined
    line.save(update_fields=["rate_class", "tax_code", "repeats"])
    return line


def lock_both(one: Card, other: Card) -> tuple[Card, Card]:
    """Two cards, locked in the order of their ids so that two people who move things never wait for each other."""
    found = {card.pk: card for card in Card.objects.select_for_update().filter(pk__in=[one.pk, other.pk]).order_by("pk")}
    return found[one.pk], found[other.pk]
