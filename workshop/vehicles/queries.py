"""Find vehicles and readings."""

import uuid as uuids
from decimal import Decimal

from django.db.models import OuterRef, QuerySet, Subquery

from workshop.customers.models import Party
from workshop.customers.queries import LEAST_TYPED, beginning
from workshop.vehicles.models import Meter, Owner, Reading, Vehicle


def last_reading(meter: Meter) -> Reading | None:
    """The latest reading that is not held."""
    return meter.readings.filter(held_reason="").order_by("-read_at", "-pk").first()


def last_value(unit: str, vehicle: str = "vehicle") -> Subquery:
    """The latest value of a unit (km, h) as a column of an outer query; `vehicle` names its path to the vehicle."""
    shown = Reading.objects.filter(meter__vehicle=OuterRef(vehicle), meter__unit=unit, held_reason="")
    return Subquery(shown.order_by("-read_at", "-pk").values("value")[:1])


def by_plate(plate: str) -> QuerySet[Vehicle]:
    """Vehicles that carry this plate."""
    return Vehicle.objects.filter(plate=plate.strip().upper(), merged_into=None)


def known(plate: str, most: int = 5) -> QuerySet[Vehicle]:
    """Vehicles whose plate begins so and that have an owner (`last_owner`), by the index; none for less than three characters."""
    typed = plate.strip().upper()
    last = Owner.objects.filter(vehicle=OuterRef("pk"), party__merged_into=None).order_by("-from_on", "-pk").values("party")[:1]
    if len(typed) < LEAST_TYPED:
        return Vehicle.objects.none()
    fits = Vehicle.objects.filter(beginning("plate", typed), merged_into=None).annotate(last_owner=Subquery(last))
    return fits.exclude(last_owner=None).order_by("plate")[:most]


def of_owner(party: Party) -> QuerySet[Vehicle]:
    """Vehicles whose last known owner is this party, newest first."""
    last = Owner.objects.filter(vehicle=OuterRef("pk")).order_by("-from_on", "-pk").values("party")[:1]
    return Vehicle.objects.annotate(last_owner=Subquery(last)).filter(last_owner=party.pk, merged_into=None).order_by("-pk")


def meter_now(vehicle: Vehicle, unit: str) -> Meter | None:
    """The meter of a unit that is in the vehicle now: the one fitted last."""
    return vehicle.meters.filter(unit=unit).order_by("-pk").first()


def run(vehicle: Vehicle, unit: str) -> Decimal | None:
    """What the vehicle has run in all, km or h: the last counted figure of every meter it had, added up. None without a reading.

    A new meter is taken to have begun at zero; forecasts use this, not what the meter shows.
    """
    last = Reading.objects.filter(meter=OuterRef("pk"), held_reason="").order_by("-read_at", "-pk").values("value")[:1]
    figures = [
        value
        for value in vehicle.meters.filter(unit=unit).annotate(last=Subquery(last)).values_list("last", flat=True)
        if value is not None
    ]
    return sum(figures, Decimal(0)) if figures else None


def reading(uid: uuids.UUID) -> Reading | None:
    """The reading with its meter and vehicle, or None."""
    return Reading.objects.select_related("meter__vehicle").filter(uid=uid).first()


def entries(vehicle: Vehicle) -> list[int]:
    """The ids under which a vehicle was ever written down: its own, and those that were merged into it. History names any of them."""
    return [vehicle.pk, *vehicle.merged.values_list("pk", flat=True)]
