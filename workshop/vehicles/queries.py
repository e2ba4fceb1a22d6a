"""Find vehicles and readings."""

from django.db.models import OuterRef, QuerySet, Subquery

from workshop.customers.models import Party
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
    return Vehicle.objects.filter(plate=plate.strip().upper())


def of_owner(party: Party) -> QuerySet[Vehicle]:
    """Vehicles whose last known owner is this party, newest first."""
    last = Owner.objects.filter(vehicle=OuterRef("pk")).order_by("-from_on", "-pk").values("party")[:1]
    return Vehicle.objects.annotate(last_owner=Subquery(last)).filter(last_owner=party.pk).order_by("-pk")
