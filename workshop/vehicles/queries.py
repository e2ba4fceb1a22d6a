"""Find vehicles and readings."""

import uuid as uuids
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.db.models import OuterRef, QuerySet, Subquery

from workshop.calc.tablefile import Fault
from workshop.customers.models import Contact, Party
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


@dataclass(frozen=True)
class Taken:
    """A row of a file: a customer with a contact, and a vehicle or none, as the models take them."""

    line: int
    party: dict[str, Any]
    contact: dict[str, str]
    vehicle: dict[str, Any] = field(default_factory=dict)


type Key = tuple[str, ...]


def party_key(row: Taken) -> Key:
    """By what a customer is known again: the number, else name with telephone and mail."""
    number = row.party["number"]
    return ("number", number) if number else ("name", row.party["name"], row.contact["phone"], row.contact["email"])


class OnFile:
    """The customers and vehicles that rows speak of, as they are on file and as the rows add to them. A handful of queries."""

    def __init__(self, rows: Sequence[Taken]) -> None:
        self.rows, self.new = rows, set[int]()
        self.parties: dict[Key, Party] = dict(_known_parties(rows))
        self.vehicles: dict[Key, Vehicle] = {}
        self.owners: dict[int, Party] = {}  # by the identity of the vehicle: a new one has no pk yet
        for key, vehicle, owner in _known_vehicles(rows, self.parties):
            self.vehicles[key] = vehicle
            if owner:
                self.owners[id(vehicle)] = owner

    def party(self, row: Taken) -> Party | None:
        """The customer of a row."""
        return self.parties.get(party_key(row))

    def vehicle(self, row: Taken) -> Vehicle | None:
        """The vehicle of a row."""
        return next((found for key in vehicle_keys(row) if (found := self.vehicles.get(key))), None)

    def add_party(self, row: Taken, party: Party) -> None:
        """A customer that is to be written."""
        self.new.add(row.line)
        self.parties[party_key(row)] = party

    def add_vehicle(self, row: Taken, vehicle: Vehicle) -> None:
        """A vehicle that is to be written."""
        self.new.add(row.line)
        self.vehicles |= dict.fromkeys(vehicle_keys(row), vehicle)

    def faults(self) -> list[Fault]:
        """Rows that speak against each other, or against what is on file."""
        said: dict[Key, Taken] = {}
        found = []
        for row in self.rows:
            for key in vehicle_keys(row)[:1] if row.vehicle else ():
                first = said.setdefault(key, row)
                if party_key(first) != party_key(row):
                    found.append(Fault(row.line, key[0], f"{key[1]} is in line {first.line} too, of another customer."))
            vehicle = self.vehicle(row) if row.vehicle else None
            owner = self.owners.get(id(vehicle)) if vehicle else None
            if vehicle and owner and owner != self.party(row):
                column = "vin" if row.vehicle["vin"] else "plate"
                found.append(
                    Fault(row.line, column, f"{row.vehicle[column]} is on file as {owner}'s. Take the line out, or write it as theirs.")
                )
        return found


def vehicle_keys(row: Taken) -> list[Key]:
    """By what a vehicle is known again, the surest first: its number, its plate; without either, its owner, make and model."""
    told = row.vehicle
    if not told:
        return []
    sure: list[Key] = [(name, told[name]) for name in ("vin", "plate") if told[name]]
    return sure or [("make", *party_key(row), told["make"], told["model"])]


def _known_parties(rows: Sequence[Taken]) -> Iterator[tuple[Key, Party]]:
    numbers = {row.party["number"] for row in rows} - {""}
    names = {row.party["name"] for row in rows if not row.party["number"]}
    for some in _in_parts(names):
        for contact in Contact.objects.filter(party__name__in=some).select_related("party__merged_into").order_by("-pk"):
            yield ("name", contact.party.name, contact.phone, contact.email), contact.party.merged_into or contact.party
    for some in _in_parts(numbers):
        for party in Party.objects.filter(number__in=some).select_related("merged_into"):
            yield ("number", party.number), party.merged_into or party


def _known_vehicles(rows: Sequence[Taken], parties: dict[Key, Party]) -> Iterator[tuple[Key, Vehicle, Party | None]]:
    for column in ("plate", "vin"):
        for some in _in_parts({row.vehicle[column] for row in rows if row.vehicle} - {""}):
            found = list(Vehicle.objects.filter(**{f"{column}__in": some}).select_related("merged_into"))
            owners = _last_owners(vehicle.merged_into_id or vehicle.pk for vehicle in found)
            for vehicle in found:
                held = vehicle.merged_into or vehicle
                yield (column, getattr(vehicle, column)), held, owners.get(held.pk)
    unsure = {key: row for row in rows for key in vehicle_keys(row) if key[0] == "make"}
    owned = {parties[party_key(row)].pk for row in unsure.values() if party_key(row) in parties}
    by_owner: dict[tuple[int, str, str], Owner] = {}
    for some in _in_parts(owned):
        theirs = Owner.objects.filter(party__in=some, vehicle__merged_into=None).select_related("vehicle")
        by_owner |= {(owner.party_id, owner.vehicle.make, owner.vehicle.model): owner for owner in theirs}
    for key, row in unsure.items():
        party = parties.get(party_key(row))
        if party and (one := by_owner.get((party.pk, row.vehicle["make"], row.vehicle["model"]))):
            yield key, one.vehicle, party


def _last_owners(vehicles: Iterable[int]) -> dict[int, Party]:
    """Who owns each of these vehicles now, through every merger."""
    rows = Owner.objects.filter(vehicle__in=set(vehicles)).select_related("party__merged_into").order_by("from_on", "pk")
    return {row.vehicle_id: row.party.merged_into or row.party for row in rows}


def _in_parts[Value](values: set[Value], size: int = 500) -> Iterator[list[Value]]:
    ordered = sorted(values, key=str)
    for start in range(0, len(ordered), size):
        yield ordered[start : start + size]
