"""Take in vehicles and what their meters showed."""

from decimal import Decimal

from django.db import transaction

from workshop import clock
from workshop.customers.models import Party
from workshop.history.actions import Actor, record
from workshop.photos.models import Photo
from workshop.vehicles import queries
from workshop.vehicles.models import Meter, Owner, Reading, Vehicle

EVENTS = {"vehicles.read": "read {value} {unit} on the meter{held}"}


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
    actor: Actor, vehicle: Vehicle, unit: str, value: Decimal | int, *, card_id: int | None = None, photo: Photo | None = None
) -> Reading:
    """What the meter shows, km or h. A lower figure than before is kept and held until somebody says why. ValueError below zero."""
    if value < 0:
        raise ValueError(f"{value} {unit} is below zero. A meter counts from zero: read it again.")
    meter, _ = Meter.objects.get_or_create(vehicle=vehicle, unit=Meter.Unit(unit))
    before = queries.last_reading(meter)
    lower = f"On {before.read_at:%Y-%m-%d} it was {before.value:,.0f} {unit}." if before and value < before.value else ""
    reading = Reading.objects.create(
        meter=meter, value=value, read_at=clock.now(), photo_uid=photo.uid if photo else None, held_reason=lower
    )
    told = {"value": f"{Decimal(value):,f}", "unit": unit, "held": f", held: {lower}" if lower else ""}
    record("vehicles.read", actor, card_id=card_id, vehicle_id=vehicle.pk, payload=told)
    return reading
