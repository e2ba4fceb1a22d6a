"""Look at the place, write down findings, say what caused what; put a finding or a photo where it belongs."""

import uuid as uuids
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.inspections.models import Cause, Finding, FindingLine, FindingPhoto, Intake, IntakePhoto, SiteCheck
from workshop.jobs.actions import Refused, lock_both, reason_of, write_again, write_hold, write_line, write_release
from workshop.jobs.models import Card, Hold, Line
from workshop.photos.actions import take
from workshop.photos.models import Photo
from workshop.vehicles.actions import write_reading

EVENTS = {
    "inspections.site_checked": "looked at the place: {verdict}{why}",
    "inspections.taken_in": "took the vehicle in: {told}",
    "inspections.found": "found at {place}: {words} ({condition})",
    "inspections.cause_linked": "said that {cause} is the {confidence} cause of {effect}",
    "inspections.line_made": "made line {number} of the finding {finding}",
    "inspections.line_again": "took line {number}, {words}, over from card {earlier}, where it was not now",
    "inspections.finding_moved": "moved the finding {words} from card {from_card} to card {to_card}: {reason}",
    "inspections.photo_moved": "moved a photo of {words} on card {from_card} to {to_words} on card {to_card}: {reason}",
}
CONFIDENCE = ("sure", "likely", "possible")
ROOM = "inspections"
INTAKE = {
    "fuel": "fuel",
    "lamps": "lamps",
    "damage": "damage",
    "belongings": "belongings",
    "keys": "keys",
    "fitted_by_others": "fitted by others",
    "begun_state": "begun by somebody else",
    "begun_parts": "parts handed in",
    "begun_missing": "missing",
    "acknowledged_by": "acknowledged by",
}


@transaction.atomic
def check_site(
    actor: Actor,
    card: Card,
    *,
    ground: str,
    verdict: str,
    chocked: bool = False,
    stands: bool = False,
    traffic: str = "",
    people: str = "",
    why: str = "",
    uid: uuids.UUID | None = None,
) -> SiteCheck:
    """May we work here? A refused place holds every start until a later check says otherwise. Refused without a reason for "refused"."""
    _locked(card)
    if uid and (there := SiteCheck.objects.filter(uid=uid).first()):
        return _on(there, card)
    if verdict == SiteCheck.Verdict.REFUSED and not why.strip():
        raise Refused("Say why not here, in one sentence. It is shown to whoever wants to start.")
    check = SiteCheck.objects.create(
        uid=uid or uuids.uuid4(),
        card=card,
        ground=ground.strip(),
        chocked=chocked,
        stands=stands,
        traffic=traffic.strip(),
        people=people.strip(),
        verdict=SiteCheck.Verdict(verdict),
        why=why.strip(),
        by=actor.name,
        at=clock.now(),
    )
    _hold_or_release(card, check, actor)
    told = {"verdict": check.get_verdict_display(), "why": f". {check.why}" if check.why else ""}
    record("inspections.site_checked", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=told)
    return check


def _hold_or_release(card: Card, check: SiteCheck, actor: Actor) -> None:
    if check.verdict == SiteCheck.Verdict.REFUSED:
        write_hold(card, None, Hold.Stops.START, f"Do not work here: {check.why}"[:200], ROOM)
        return
    for hold in card.holds.filter(by_room=ROOM, stops=Hold.Stops.START, released_at=None):
        write_release(hold, actor.name, "A later look at the place says: work here.")


def _locked(card: Card) -> None:
    Card.objects.select_for_update().get(pk=card.pk)


def _on[T: (SiteCheck, Finding, Intake)](there: T, card: Card) -> T:
    if there.card_id != card.pk:
        raise Refused("This was saved before, on another card. Make it anew here.")
    return there


@transaction.atomic
def take_intake(
    actor: Actor,
    card: Card,
    words: dict[str, str],
    *,
    km: Decimal | None = None,
    hours: Decimal | None = None,
    meter_photo: Photo | None = None,
    photos: Sequence[Photo] = (),
    uid: uuids.UUID | None = None,
) -> Intake:
    """How the vehicle came; `words` by the names of INTAKE. What the meters show is kept with it, a lower figure is held until
    somebody says why. The same uid gives the intake that is there. Refused when nothing is written, and for a card that is over."""
    _locked(card)
    if uid and (there := Intake.objects.filter(uid=uid).first()):
        return _on(there, card)
    now = Card.objects.select_related("vehicle").get(pk=card.pk)
    if now.state in {Card.State.CLOSED, Card.State.CANCELLED}:
        raise Refused(f"Card {now} is {now.get_state_display()}. Take a new enquiry for new work.")
    clean = {name: words.get(name, "").strip() for name in INTAKE}
    if km is None and hours is None and not photos and not any(clean.values()):
        raise Refused("Nothing written. Fill in what you looked at.")
    shown = {"km": km, "h": hours}
    read = {unit: write_reading(now.vehicle, unit, value, photo=meter_photo) for unit, value in shown.items() if value is not None}
    intake = Intake.objects.create(
        uid=uid or uuids.uuid4(), card=now, km=read.get("km"), hours=read.get("h"), by=actor.name, at=clock.now(), **clean
    )
    IntakePhoto.objects.bulk_create(IntakePhoto(intake=intake, photo=photo) for photo in photos)
    told = [f"{f'{one.value:,.1f}'.removesuffix('.0')} {unit}{', held' if one.held_reason else ''}" for unit, one in read.items()]
    told += [f"{INTAKE[name]}: {what}" for name, what in clean.items() if what]
    told += [f"{len(photos)} photo{'s' if len(photos) > 1 else ''}"] if photos else []
    record("inspections.taken_in", actor, card_id=now.pk, vehicle_id=now.vehicle_id, payload={"told": "; ".join(told)})
    return intake


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
    photos: Sequence[bytes | Photo] = (),
    uid: uuids.UUID | None = None,
) -> Finding:
    """One thing that was looked at. The same uid gives the finding that is there.

    Pictures as bytes are developed inside the transaction: a page takes them before and hands in photos. Raises
    photos.actions.Refused for a bad picture, Refused for a number without unit or a limit without source."""
    _locked(card)
    if uid and (there := Finding.objects.filter(uid=uid).first()):
        return _on(there, card)
    _refuse_bare(measured, unit.strip(), limit_words.strip(), limit_source.strip())
    finding = Finding.objects.create(
        uid=uid or uuids.uuid4(),
        card=card,
        place=place.strip(),
        words=words.strip(),
        condition=Finding.Condition(condition),
        measured=measured,
        unit=unit.strip(),
        limit_words=limit_words.strip(),
        limit_source=limit_source.strip(),
        by=actor.name,
        found_at=clock.now(),
    )
    taken = [photo if isinstance(photo, Photo) else take(photo) for photo in photos]
    FindingPhoto.objects.bulk_create(FindingPhoto(finding=finding, photo=photo) for photo in taken)
    told = {"place": finding.place, "words": finding.words, "condition": finding.get_condition_display()}
    record("inspections.found", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=told)
    return finding


def _refuse_bare(measured: Decimal | None, unit: str, limit_words: str, limit_source: str) -> None:
    if measured is not None and not unit:
        raise Refused(f"{measured} of what? Write the unit beside it.")
    if limit_words and not limit_source:
        raise Refused("A limit has a source. Write where it stands, or leave the limit empty.")


@transaction.atomic
def link_cause(actor: Actor, effect: Finding, cause: Finding, confidence: str = "likely") -> Cause:
    """One finding caused another: sure, likely or possible. Refused for another card's finding and for a circle."""
    _locked(effect.card)
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


@transaction.atomic
def line_from_finding(actor: Actor, finding: Finding, *, kind: str = "failed", words: str = "", **what: Any) -> Line:
    """A draft line that mends what was found; further keywords as jobs.actions.add_line. Its words unless others are given."""
    line = write_line(finding.card, kind=kind, words=words or finding.words, **what)
    FindingLine.objects.get_or_create(finding=finding, line=line)
    told = {"number": line.number, "finding": finding.words}
    record("inspections.line_made", actor, card_id=line.card_id, vehicle_id=finding.card.vehicle_id, payload=told)
    return line


@transaction.atomic
def offer_again(actor: Actor, card: Card, declined: Line) -> Line:
    """A draft on this card of a line that was "not now" on an earlier one, with its findings and their old photos.

    Asked twice it gives the draft that is there. Refused as jobs.actions.write_again refuses.
    """
    _locked(card)
    there = set(card.lines.values_list("pk", flat=True))
    line = write_again(card, declined)
    if line.pk in there:
        return line
    found = FindingLine.objects.filter(line=declined).order_by("pk").values_list("finding_id", flat=True)
    FindingLine.objects.bulk_create(FindingLine(finding_id=pk, line=line) for pk in found)
    told = {"number": line.number, "words": line.words, "earlier": str(declined.card)}
    record("inspections.line_again", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=told)
    return line


@transaction.atomic
def move_finding(actor: Actor, finding: Finding, to_card: Card, reason: str) -> Finding:
    """A finding that was written on the wrong card goes to the right one. It keeps its first card, the moment and the mover.

    Its links to causes, effects and lines of the old card are cut; history says which. What was sent to a customer stays as it was.
    Refused for the same card and for a cancelled one.
    """
    why = reason_of(reason)
    old, new = lock_both(finding.card, to_card)
    fresh = Finding.objects.select_for_update().get(pk=finding.pk)
    if fresh.card_id != old.pk or old.pk == new.pk:
        raise Refused(f"The finding stands on card {new if old.pk == new.pk else fresh.card_id}. Choose another card.")
    if new.state == Card.State.CANCELLED:
        raise Refused(f"Card {new} is cancelled. Choose another.")
    cut = _cut(fresh)
    fresh.origin_card = fresh.origin_card or old
    fresh.card, fresh.moved_at, fresh.moved_by = new, clock.now(), actor.name
    fresh.save(update_fields=["card", "origin_card", "moved_at", "moved_by"])
    told = {"words": fresh.words, "finding": str(fresh.uid), "from_card": str(old), "to_card": str(new), "reason": why, **cut}
    record("inspections.finding_moved", actor, card_id=old.pk, vehicle_id=old.vehicle_id, payload=told)
    return fresh


def _cut(finding: Finding) -> dict[str, Any]:
    """Takes off the links that make no sense on another card; returns what they were."""
    lines, causes, effects = (
        finding.lines.select_related("line"),
        finding.causes.select_related("cause"),
        finding.effects.select_related("effect"),
    )
    cut = {
        "lines": [link.line.number for link in lines],
        "causes": [str(link.cause.uid) for link in causes],
        "effects": [str(link.effect.uid) for link in effects],
    }
    finding.lines.all().delete()
    finding.causes.all().delete()
    finding.effects.all().delete()
    return {name: what for name, what in cut.items() if what}


@transaction.atomic
def move_photo(actor: Actor, shown: FindingPhoto, to_finding: Finding, reason: str) -> FindingPhoto:
    """A photo that hangs on the wrong finding goes to the right one, on this card or another. It keeps its first finding and card, the
    moment and the mover. What was sent to a customer stays as it was. Refused for the same finding and for a cancelled card."""
    why = reason_of(reason)
    old, new = lock_both(shown.finding.card, to_finding.card)
    fresh = FindingPhoto.objects.select_for_update(of=("self",)).select_related("finding").get(pk=shown.pk)
    if fresh.finding_id == to_finding.pk:
        raise Refused(f"The photo hangs on “{to_finding.words}” already. Choose another finding.")
    if new.state == Card.State.CANCELLED:
        raise Refused(f"Card {new} is cancelled. Choose a finding on another.")
    was = fresh.finding
    if fresh.origin_id is None:
        fresh.origin, fresh.origin_card = was, old
    fresh.finding, fresh.moved_at, fresh.moved_by = to_finding, clock.now(), actor.name
    fresh.save(update_fields=["finding", "origin", "origin_card", "moved_at", "moved_by"])
    told = {"words": was.words, "to_words": to_finding.words, "from_card": str(old), "to_card": str(new), "reason": why}
    record("inspections.photo_moved", actor, card_id=old.pk, vehicle_id=old.vehicle_id, payload={**told, "photo": str(fresh.photo.uid)})
    return fresh
