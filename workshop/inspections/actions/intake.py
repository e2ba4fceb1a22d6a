"""Write down how the vehicle came."""

import uuid as uuids
from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.inspections.actions.common import locked, on
from workshop.inspections.models import Intake, IntakePhoto
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.photos.models import Photo
from workshop.vehicles.actions import write_reading

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
    locked(card)
    if uid and (there := Intake.objects.filter(uid=uid).first()):
        return on(there, card)
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
