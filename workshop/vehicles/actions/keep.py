"""Take in vehicles and what their meters showed, put right what is written of them."""

import uuid as uuids
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.utils import timezone

from workshop import clock
from workshop.customers.models import Party
from workshop.history.actions import Actor, record
from workshop.photos.models import Photo
from workshop.vehicles import queries
from workshop.vehicles.models import Meter, Owner, Reading, Vehicle

CHANGED, MISREAD = "changed", "misread"
REASONS = {CHANGED: "the meter was changed", MISREAD: "the figure before was misread"}
NO_PHOTO = "A changed meter is shown by a photo of it."
TAKEN_OVER = ("plate", "vin", "engine_code", "built_on")


@transaction.atomic
def write_vehicle(make: str, model: str, plate: str = "", vin: str = "", engine_code: str = "", *, owner: Party | None = None) -> Vehicle:
    """Writes a vehicle, and its owner from today. Records nothing: a higher verb does."""
    vehicle = Vehicle.objects.create(
        make=make.strip(), model=model.strip(), plate=plate.strip().upper(), vin=vin.strip().upper(), engine_code=engine_code.strip()
    )
    if owner:
        Owner.objects.create(vehicle=vehicle, party=owner, from_on=clock.today())
    return vehicle


@transaction.atomic
def read_meter(
    actor: Actor,
    vehicle: Vehicle,
    unit: str,
    value: Decimal | int,
    *,
    card_id: int | None = None,
    photo: Photo | None = None,
    reason: str = "",
    uid: uuids.UUID | None = None,
) -> Reading:
    """What the meter shows, km or h. A lower figure than before is kept and held until somebody says why. The same uid gives the reading
    that is there.

    `reason` for a lower one: "changed" (with a photo: a new meter begins, and what both ran is added up) or "misread" (the higher
    figures before are held in its stead). Changed without a photo is held too, never refused. ValueError below zero.
    """
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    if uid and (there := queries.reading(uid)):
        return there
    reading = write_reading(vehicle, unit, value, photo=photo, reason=reason, uid=uid)
    told = f", held: {reading.held_reason}" if reading.held_reason else f": {reading.reason}" if reading.reason else ""
    payload = {"value": f"{Decimal(value):,f}", "unit": unit, "held": told, "reading": str(reading.uid)}
    record("vehicles.read", actor, card_id=card_id, vehicle_id=vehicle.pk, payload=payload)
    return reading


@transaction.atomic
def write_reading(
    vehicle: Vehicle, unit: str, value: Decimal | int, *, photo: Photo | None = None, reason: str = "", uid: uuids.UUID | None = None
) -> Reading:
    """What the meter shows, kept and held as read_meter says. Records nothing: a higher verb does. ValueError below zero."""
    if value < 0:
        raise ValueError(f"{value} {unit} is below zero. A meter counts from zero: read it again.")
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    meter = queries.meter_now(vehicle, Meter.Unit(unit)) or Meter.objects.create(vehicle=vehicle, unit=Meter.Unit(unit))
    before = queries.last_reading(meter)
    held = f"On {before.read_at:%Y-%m-%d} it was {before.value:,.0f} {unit}." if before and value < before.value else ""
    shown = photo.uid if photo else None
    reading = Reading.objects.create(
        uid=uid or uuids.uuid4(), meter=meter, value=value, read_at=clock.now(), photo_uid=shown, held_reason=held
    )
    if held and reason == CHANGED and photo is None:
        Reading.objects.filter(pk=reading.pk).update(held_reason=f"{held} {NO_PHOTO}")
    elif held and reason:
        _explain(reading, reason)
    reading.refresh_from_db()
    return reading


@transaction.atomic
def explain_reading(actor: Actor, reading: Reading, reason: str, photo: Photo | None = None) -> Reading:
    """Says why a held reading is lower: "changed" (with a photo, the reading's own or this one) or "misread". It counts from now on.

    ValueError, with a sentence, when it is not held or a changed meter has no photo.
    """
    vehicle = reading.meter.vehicle
    Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    fresh = Reading.objects.select_for_update().get(pk=reading.pk)
    if not fresh.held_reason or fresh.reason:
        raise ValueError("This reading is not held. Nothing was changed.")
    if photo is not None:
        fresh.photo_uid = photo.uid
        fresh.save(update_fields=["photo_uid"])
    _explain(fresh, reason)
    told = {"value": f"{fresh.value:,f}", "unit": fresh.meter.unit, "reason": fresh.reason, "reading": str(fresh.uid)}
    record("vehicles.reading_explained", actor, vehicle_id=vehicle.pk, payload=told)
    return fresh


def _explain(reading: Reading, reason: str) -> None:
    """Lets a held reading count. A changed meter is a new row, with this and later readings; a misread one holds what stood above it."""
    if reason not in REASONS:
        raise ValueError("Choose one: the meter was changed, or the figure before was misread.")
    if reason == CHANGED:
        if reading.photo_uid is None:
            raise ValueError(f"{NO_PHOTO} Take one, or leave the reading held.")
        new = Meter.objects.create(vehicle=reading.meter.vehicle, unit=reading.meter.unit, fitted_on=timezone.localdate(reading.read_at))
        later = reading.meter.readings.filter(read_at__gte=reading.read_at, pk__gt=reading.pk)
        later.filter(value__gte=reading.value).update(meter=new, held_reason="")
        reading.meter = new
    else:
        above = reading.meter.readings.filter(value__gt=reading.value, held_reason="", read_at__lte=reading.read_at).exclude(pk=reading.pk)
        above.update(held_reason=f"Misread: later it was {reading.value:,.0f} {reading.meter.unit}.", reason=REASONS[MISREAD])
    reading.held_reason, reading.reason = "", REASONS[reason]
    reading.save(update_fields=["meter", "held_reason", "reason"])


@transaction.atomic
def change_vehicle(actor: Actor, vehicle: Vehicle, **what: str) -> Vehicle:
    """Rewrites make, model, plate, vin or engine_code; what stood there before stays in the history.

    ValueError for an empty make or model, when nothing is different, or for an entry merged away.
    """
    fresh = Vehicle.objects.select_for_update().get(pk=vehicle.pk)
    if fresh.merged_into_id:
        raise ValueError(f"{fresh} was merged before. Open the entry it went into.")
    clean = {name: value.strip().upper() if name in {"plate", "vin"} else value.strip() for name, value in what.items()}
    if not clean.get("make", fresh.make) or not clean.get("model", fresh.model):
        raise ValueError("No make or no model. Write what stands on it.")
    new = {name: value for name, value in clean.items() if value != getattr(fresh, name)}
    if not new:
        raise ValueError("This is what stands there already. Nothing was changed.")
    changed = "; ".join(f"{name.replace('_', ' ')} “{getattr(fresh, name)}” to “{value}”" for name, value in new.items())
    for name, value in new.items():
        setattr(fresh, name, value)
    fresh.save(update_fields=list(new))
    record("vehicles.changed", actor, vehicle_id=fresh.pk, payload={"changed": changed})
    return fresh


def write_owner_moved(drop: Party, keep: Party) -> list[int]:
    """What `drop` owned is owned by `keep`; returns the ids of the owner rows. Records nothing."""
    owners = list(Owner.objects.filter(party=drop).order_by("pk").values_list("pk", flat=True))
    Owner.objects.filter(pk__in=owners).update(party=keep)
    return owners


def write_merged_vehicle(keep: Vehicle, drop: Vehicle) -> dict[str, Any]:
    """Moves owners, meters and readings of `drop` to `keep`, fills what `keep` lacks, points `drop` at `keep`. Records nothing.

    The meter that is in the vehicle now is one: the newest of both are put together. Returns what was moved, for the history.
    """
    owners = list(drop.owners.order_by("pk").values_list("pk", flat=True))
    readings = list(Reading.objects.filter(meter__vehicle=drop).order_by("pk").values_list("pk", flat=True))
    Owner.objects.filter(pk__in=owners).update(vehicle=keep)
    for unit in Meter.Unit.values:
        mine, theirs = queries.meter_now(keep, unit), queries.meter_now(drop, unit)
        if mine and theirs:
            theirs.readings.update(meter=mine)
        drop.meters.filter(unit=unit).exclude(pk=theirs.pk if mine and theirs else 0).update(vehicle=keep)
    filled = {name: getattr(drop, name) for name in TAKEN_OVER if getattr(drop, name) and not getattr(keep, name)}
    for name, value in filled.items():
        setattr(keep, name, value)
    if filled:
        keep.save(update_fields=list(filled))
    Vehicle.objects.filter(merged_into=drop).update(merged_into=keep)
    Vehicle.objects.filter(pk=drop.pk).update(merged_into=keep)
    return {"owners": owners, "readings": readings, "filled": filled}
