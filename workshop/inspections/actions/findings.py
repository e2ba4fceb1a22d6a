"""Write down a finding, and say what caused what."""

import uuid as uuids
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.inspections.actions.common import locked, on, refuse_cancelled
from workshop.inspections.models import Cause, Finding, FindingPhoto
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.photos.actions import take
from workshop.photos.models import Photo

CONFIDENCE = ("sure", "likely", "possible")


@transaction.atomic
def add_finding(
    actor: Actor,
    card: Card,
    *,
    place: str,
    words: str,
    condition: str,
    measured: Decimal | None = None,
    unit: str = "",
    limit_words: str = "",
    limit_source: str = "",
    previous_work: str = "",
    photos: Sequence[bytes | Photo] = (),
    uid: uuids.UUID | None = None,
) -> Finding:
    """One thing that was looked at. The same uid gives the finding that is there.

    Pictures as bytes are developed inside the transaction: a page takes them before and hands in photos. Raises
    photos.actions.Refused for a bad picture, Refused for a number without unit, a limit without source and a cancelled card."""
    now = locked(card)
    if uid and (there := Finding.objects.filter(uid=uid).first()):
        return on(there, card)
    refuse_cancelled(now)
    _refuse_bare(measured, unit.strip(), limit_words.strip(), limit_source.strip())
    what = {
        "words": words,
        "measured": measured,
        "unit": unit,
        "limit_words": limit_words,
        "limit_source": limit_source,
        "previous_work": previous_work,
    }
    finding = write_finding(actor, card, place=place, condition=condition, photos=photos, uid=uid, **what)
    told = {"place": finding.place, "words": finding.words, "condition": finding.get_condition_display()}
    record("inspections.found", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=told)
    return finding


def write_finding(
    actor: Actor, card: Card, *, condition: str, photos: Sequence[bytes | Photo] = (), uid: uuids.UUID | None = None, **typed: Any
) -> Finding:
    """The rows of a finding with its photos, for a verb of this room that records; further keywords are columns. Refuses nothing."""
    clean = {name: value.strip() if isinstance(value, str) else value for name, value in typed.items()}
    found = Finding.Condition(condition)
    finding = Finding.objects.create(uid=uid or uuids.uuid4(), card=card, condition=found, by=actor.name, found_at=clock.now(), **clean)
    taken = [photo if isinstance(photo, Photo) else take(photo) for photo in photos]
    FindingPhoto.objects.bulk_create(FindingPhoto(finding=finding, photo=photo) for photo in taken)
    return finding


def _refuse_bare(measured: Decimal | None, unit: str, limit_words: str, limit_source: str) -> None:
    if measured is not None and not unit:
        raise Refused(f"{measured} of what? Write the unit beside it.")
    if limit_words and not limit_source:
        raise Refused("A limit has a source. Write where it stands, or leave the limit empty.")


@transaction.atomic
def link_cause(actor: Actor, effect: Finding, cause: Finding, confidence: str = "likely") -> Cause:
    """One finding caused another: sure, likely or possible. Refused for another card's finding, a circle and a cancelled card."""
    refuse_cancelled(locked(effect.card))
    if effect.card_id != cause.card_id:
        raise Refused("Both findings stand on one card, or neither explains the other here.")
    if confidence not in CONFIDENCE:
        raise Refused("Choose one: sure, likely, possible.")
    if Cause.objects.filter(effect=effect, cause=cause).exists():
        raise Refused(f"“{cause.words}” is linked as the cause already.")
    if effect.pk == cause.pk or effect.pk in _all_causes(cause):
        raise Refused(f"“{effect.words}” is itself a cause of “{cause.words}”. A chain has a beginning: choose another.")
    link = Cause.objects.create(effect=effect, cause=cause, confidence=confidence)
    told = {"cause": cause.words, "effect": effect.words, "confidence": confidence}
    record("inspections.cause_linked", actor, card_id=effect.card_id, vehicle_id=effect.card.vehicle_id, payload=told)
    return link


def _all_causes(finding: Finding) -> set[int]:
    """The causes of a finding, and theirs."""
    above: dict[int, list[int]] = {}
    for effect, cause in Cause.objects.filter(effect__card_id=finding.card_id).values_list("effect_id", "cause_id"):
        above.setdefault(effect, []).append(cause)
    found: set[int] = set()
    waiting = above.get(finding.pk, [])[:]
    while waiting:
        if (cause := waiting.pop()) not in found:
            found.add(cause)
            waiting += above.get(cause, [])
    return found
