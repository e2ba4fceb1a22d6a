"""What was asked at the first call, put right or learned later."""

import hashlib
from datetime import date, datetime
from typing import Any

from django.db import transaction

from workshop.history.actions import Actor
from workshop.jobs.actions.common import Refused, locked_open, tell
from workshop.jobs.actions.intake import STOP_SIGNS, Asked
from workshop.jobs.models import Card
from workshop.pages.templatetags.pages_format import moment, money, paper_day

FACTS = {
    "aim": "wanted in the end",
    "used_for": "used for",
    "limit_gross": "spend without asking",
    "stop_signs": "stop signs",
    "recalls_on": "recalls checked on",
    "recalls_source": "recalls checked in",
    "place": "where",
    "due_at": "when",
    "moves": "moves",
}


def seen_facts(card: Card) -> str:
    """A short print of the facts as they stand: a page that shows others is old."""
    return hashlib.sha256(repr([str(getattr(card, name)) for name in FACTS]).encode()).hexdigest()[:16]


@transaction.atomic
def change_facts(actor: Actor, card: Card, asked: Asked, *, place: str, due_at: datetime | None, moves: str, seen: str = "") -> Card:
    """The facts of the call as they are now known; what each was goes into the history. The same again changes nothing.

    A stop sign that was not there says: do not drive; one taken away leaves that until somebody looked. Refused for a card that is
    over, as Asked.columns refuses, and when `seen` (of seen_facts) is not what stands there now."""
    now = locked_open(card)
    new = {**asked.columns(), "place": place.strip(), "due_at": due_at, "moves": moves}
    advice: dict[str, Any] = {name: new.pop(name) for name in ("drive_advice", "drive_words") if name in new}
    changed = {name: new[name] for name in FACTS if getattr(now, name) != new[name]}
    if not changed:
        return now
    if seen and seen != seen_facts(now):
        raise Refused("Somebody changed these facts meanwhile. Open the sheet again and look, then write yours.")
    if set(new["stop_signs"].split(",")) - set(now.stop_signs.split(",")):
        changed |= advice
    told = "; ".join(f"{FACTS[name]} from “{_said(getattr(now, name))}” to “{_said(new[name])}”" for name in FACTS if name in changed)
    for name, value in changed.items():
        setattr(now, name, value)
    now.save(update_fields=list(changed))
    tell("jobs.facts_changed", actor, now, what=told, stop=" Do not drive." if "drive_advice" in changed else "")
    return now


def _said(value: Any) -> str:
    """A fact as a person reads it; nothing as a dash."""
    if isinstance(value, datetime):
        return moment(value)
    if isinstance(value, date):
        return paper_day(value)
    if value in (None, ""):
        return "–"
    if isinstance(value, str):
        signs = value.split(",")
        return ", ".join(STOP_SIGNS[sign] for sign in signs) if set(signs) <= STOP_SIGNS.keys() else value
    return money(value)
