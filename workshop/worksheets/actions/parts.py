"""Parts go into a place of the vehicle and come out again; those with a code are taught in before it leaves."""

import uuid as uuids
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor
from workshop.jobs.actions import Refused, reason_of, refuse_left, write_hold, write_release
from workshop.jobs.models import Card, Hold, Line
from workshop.photos.models import Photo
from workshop.vehicles.models import Vehicle
from workshop.worksheets import queries
from workshop.worksheets.actions.common import locked, locked_together, own_line, refuse_elsewhere, tell
from workshop.worksheets.models import FittedPart, OldPart

ROOM = "worksheets.taught"  # its holds are told from those of the tightening sheet
MOST_REASON = 200
NO_PROOF = "No proof. Write what the control unit showed, or take a photo of it."


@dataclass(frozen=True)
class PartIn:
    """One place, and what was fitted there."""

    position: str
    serial: str = ""
    code: str = ""
    part_number: str = ""


@transaction.atomic
def fit_parts(
    actor: Actor,
    card: Card,
    part: str,
    rows: Sequence[PartIn],
    *,
    line: Line | None = None,
    fitted_on: date | None = None,
    km: Decimal | None = None,
    must_be_taught: bool = False,
    old_part: str = "",
    uid: uuids.UUID | None = None,
) -> list[FittedPart]:
    """Parts of one kind in their places, one row each; the one that sat in a place ends that day. The same uid gives those there.

    One that must be taught in holds the vehicle (ready) and its line (done) until it is. Refused while the vehicle is left, without a
    name or a place, for a place or a serial named twice, a day to come, and one before the part came in that sits there.
    """
    now, key, day = locked_together(card.pk), uid or uuids.uuid4(), fitted_on or clock.today()
    Vehicle.objects.select_for_update().get(pk=now.vehicle_id)
    if there := _made_before(now, [uuids.uuid5(key, str(n)) for n in range(len(rows))]):
        return there
    refuse_left(now)
    own_line(now, line)
    _refuse_rows(part, rows, day)
    sitting = list(queries.configuration(now.vehicle))
    ended = _ended(part, rows, sitting, day)
    _refuse_serials(part, rows, [one for one in sitting if one not in ended])
    for old in ended:
        _end(old, now, day, old_part)
    what = {"part": part.strip(), "line": line, "fitted_on": day, "fitted_at_km": km, "must_be_taught": must_be_taught}
    fitted = [
        FittedPart.objects.create(
            uid=uuids.uuid5(key, str(n)), card=now, old_part=old_part, by=actor.name, at=clock.now(), **what, **_clean(row)
        )
        for n, row in enumerate(rows)
    ]
    _hold_all(actor, now, ended)
    tell("worksheets.parts_fitted", actor, now, part=part.strip(), where="; ".join(map(_where, fitted)), ended=_off_came(ended))
    return fitted


def _made_before(card: Card, uids: list[uuids.UUID]) -> list[FittedPart]:
    """What this page made. Refused when its number was used on another card."""
    there = list(FittedPart.objects.filter(uid__in=uids).order_by("pk"))
    for one in there:
        refuse_elsewhere(one, card)
    return there


def _off_came(ended: Sequence[FittedPart]) -> str:
    return f"; off came {', '.join(map(_named, ended))}" if ended else ""


def _clean(row: PartIn) -> dict[str, str]:
    return {name: getattr(row, name).strip() for name in ("position", "serial", "code", "part_number")}


def _refuse_rows(part: str, rows: Sequence[PartIn], day: date) -> None:
    if not part.strip():
        raise Refused("No part. Write what was fitted.")
    if not rows or not all(row.position.strip() for row in rows):
        raise Refused("No place. Write where it sits: cylinder 2, front left.")
    places = [queries.same(row.position) for row in rows]
    for row in rows:
        if places.count(queries.same(row.position)) > 1:
            raise Refused(f"{row.position} is written twice. One part sits in one place.")
    if day > clock.today():
        raise Refused(f"{day:%Y-%m-%d} is still to come. Write the day it was fitted.")


def _refuse_serials(part: str, rows: Sequence[PartIn], sitting: list[FittedPart]) -> None:
    typed = [queries.same(row.serial) for row in rows if row.serial.strip()]
    for row in rows:
        own = queries.same(row.serial)
        if own and typed.count(own) > 1:
            raise Refused(f"Serial {row.serial} is written twice. Each part has its own.")
        other = next(
            (one for one in sitting if own and queries.same(one.serial) == own and queries.same(one.part) == queries.same(part)), None
        )
        if other:
            raise Refused(f"Serial {row.serial} sits in {other.position} of this vehicle. Take it off there first, or read it again.")


def _ended(part: str, rows: Sequence[PartIn], sitting: list[FittedPart], day: date) -> list[FittedPart]:
    """The parts of the same name that sit in the same places."""
    places = {(queries.same(part), queries.same(row.position)) for row in rows}
    ended = [one for one in sitting if (queries.same(one.part), queries.same(one.position)) in places]
    for old in ended:
        if day < old.fitted_on:
            raise Refused(f"The {_named(old)} that sits there came in on {old.fitted_on:%Y-%m-%d}. The new one cannot be older in place.")
    return ended


def _end(part: FittedPart, card: Card, day: date, became: str) -> None:
    part.removed_on, part.removed_card, part.became = day, card, became
    part.save(update_fields=["removed_on", "removed_card", "became"])


@transaction.atomic
def take_off(actor: Actor, card: Card, part: FittedPart, became: str) -> FittedPart:
    """A part comes off and nothing takes its place. Taken off before, it stays as it is. Refused for another vehicle's part and while
    the vehicle is left."""
    now, fresh = _both(card, part)
    if fresh.removed_on:
        return fresh
    refuse_left(now)
    _end(fresh, now, clock.today(), OldPart(became).value if became else "")
    _hold_all(actor, now, [fresh])
    tell("worksheets.part_taken_off", actor, now, part=_named(fresh), became=f": {fresh.get_became_display()}" if became else "")
    return fresh


@transaction.atomic
def teach_in(actor: Actor, card: Card, part: FittedPart, words: str = "", photo: Photo | None = None) -> FittedPart:
    """The control unit knows the part: by words or a photo of what it showed. Done before, it stays. Releases the holds.

    Refused without either, for a part that need not be, that came off, or of another vehicle, and while the vehicle is left.
    """
    now, fresh = _both(card, part)
    if fresh.taught_at:
        return fresh
    refuse_left(now)
    if not fresh.must_be_taught or fresh.removed_on:
        raise Refused(f"{_named(fresh)} {'came off' if fresh.removed_on else 'need not be taught in'}. Nothing was changed.")
    if not words.strip() and photo is None:
        raise Refused(NO_PROOF)
    _taught(fresh, actor, words, photo)
    _hold_all(actor, now, [fresh])
    tell("worksheets.taught_in", actor, now, part=_named(fresh), words=fresh.taught_words or "photo of it")
    return fresh


@transaction.atomic
def teach_in_all(actor: Actor, card: Card, words: str = "", photo: Photo | None = None) -> list[FittedPart]:
    """All that were fitted on the card and wait for it, in one session with one proof. Refused without a proof, when none waits,
    and while the vehicle is left."""
    now = locked(card.pk)
    refuse_left(now)
    waiting = list(now.fitted_parts.select_for_update().filter(must_be_taught=True, taught_at=None, removed_on=None).order_by("pk"))
    if not waiting:
        raise Refused("Nothing waits to be taught in. Nothing was changed.")
    if not words.strip() and photo is None:
        raise Refused(NO_PROOF)
    for one in waiting:
        _taught(one, actor, words, photo)
    _hold_all(actor, now, waiting)
    tell("worksheets.taught_in", actor, now, part=", ".join(_named(one) for one in waiting), words=words.strip() or "photo of it")
    return waiting


def _taught(part: FittedPart, actor: Actor, words: str, photo: Photo | None) -> None:
    part.taught_at, part.taught_by, part.taught_words, part.taught_photo = clock.now(), actor.name, words.strip(), photo
    part.save(update_fields=["taught_at", "taught_by", "taught_words", "taught_photo"])


@transaction.atomic
def correct_part(actor: Actor, card: Card, part: FittedPart, reason: str, **what: str) -> FittedPart:
    """A place, serial, code or part number that was read wrongly; what stood there before stays in the history.

    Refused without a place, when nothing is different, and for a place where one of the same name sits or a serial that sits elsewhere.
    """
    why = reason_of(reason)
    now, fresh = _both(card, part)
    new = {name: words.strip() for name, words in what.items() if words.strip() != getattr(fresh, name)}
    if not new:
        raise Refused("This is what stands there already. Nothing was changed.")
    if "position" in new and not new["position"]:
        raise Refused("No place. Write where it sits: cylinder 2, front left.")
    others = [one for one in queries.configuration(now.vehicle) if one.pk != fresh.pk]
    place = queries.same(new.get("position", ""))
    if place and any(queries.same(one.part) == queries.same(fresh.part) and queries.same(one.position) == place for one in others):
        raise Refused(f"In {new['position']} sits another {fresh.part}. Take it off first, or read the place again.")
    _refuse_serials(fresh.part, [PartIn(fresh.position, serial=new.get("serial", ""))], others)
    told = "; ".join(f"{name.replace('_', ' ')} “{getattr(fresh, name)}” to “{words}”" for name, words in new.items())
    was = _named(fresh)
    for name, words in new.items():
        setattr(fresh, name, words)
    fresh.save(update_fields=list(new))
    if fresh.untaught:
        _hold_all(actor, now, [fresh])
    tell("worksheets.part_corrected", actor, now, part=was, changed=told, reason=why)
    return fresh


@transaction.atomic
def let_go(actor: Actor, card: Card, part: FittedPart, reason: str) -> FittedPart:
    """The owner lets the vehicle go although the part is not taught in; the hand-over sheet says so with the reason. Releases the holds."""
    why = reason_of(reason)
    now, fresh = _both(card, part)
    if fresh.let_go_at:
        return fresh
    if not fresh.untaught:
        raise Refused(f"{_named(fresh)} waits for nothing. Nothing was changed.")
    fresh.let_go_reason, fresh.let_go_by, fresh.let_go_at = why, actor.name, clock.now()
    fresh.save(update_fields=["let_go_reason", "let_go_by", "let_go_at"])
    _hold_all(actor, now, [fresh])
    tell("worksheets.let_go", actor, now, part=_named(fresh), reason=why)
    return fresh


def _both(card: Card, part: FittedPart) -> tuple[Card, FittedPart]:
    now = locked_together(card.pk)
    fresh = FittedPart.objects.select_for_update(of=("self",)).select_related("card").get(pk=part.pk)
    if fresh.card.vehicle_id != now.vehicle_id:
        raise Refused("That part sits in another vehicle.")
    return now, fresh


def _hold_all(actor: Actor, card: Card, touched: Sequence[FittedPart]) -> None:
    """Sets and releases the holds of the card, and of earlier cards whose parts were touched."""
    for pk in sorted({card.pk, *(one.card_id for one in touched)}):
        _hold_or_release(actor, Card.objects.get(pk=pk))


def _hold_or_release(actor: Actor, card: Card) -> None:
    """The vehicle is not ready, and no line done, while a part fitted on the card is neither taught in nor let go by the owner."""
    waiting = list(card.fitted_parts.filter(must_be_taught=True, taught_at=None, removed_on=None, let_go_at=None).order_by("pk"))
    wanted: dict[int | None, list[FittedPart]] = {}
    for one in waiting:
        for line_id in {None, one.line_id}:
            wanted.setdefault(line_id, []).append(one)
    for hold in card.holds.filter(by_room=ROOM, released_at=None):
        if hold.line_id not in wanted:
            write_release(hold, actor.name, "Taught in, let go by the owner, or off again.")
    lines = {line.pk: line for line in Line.objects.filter(pk__in=[pk for pk in wanted if pk])}
    for line_id, parts in wanted.items():
        stops = Hold.Stops.DONE if line_id else Hold.Stops.READY
        write_hold(card, lines[line_id] if line_id else None, stops, _reason(parts), ROOM)


def _reason(parts: list[FittedPart]) -> str:
    """Not taught in: Injector cylinder 2, Injector cylinder 3."""
    names = [_named(one) for one in parts]
    while len(text := f"Not taught in: {', '.join(names)}.") > MOST_REASON and len(names) > 1:
        names = [*names[:-2], f"and {len(parts) - len(names) + 2} more"]
    return text[:MOST_REASON]


def _named(part: FittedPart) -> str:
    return f"{part.part} {part.position}"


def _where(part: FittedPart) -> str:
    return " ".join(filter(None, [part.position, part.serial and f"serial {part.serial}", part.code and f"code {part.code}"]))
