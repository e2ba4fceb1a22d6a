"""Take customers and their vehicles in from a file: everything in it, or nothing."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction

from workshop import clock
from workshop.calc.tablefile import Fault
from workshop.company.models import Company
from workshop.customers.models import Contact, Party
from workshop.history.actions import Actor, record
from workshop.vehicles.models import Owner, Vehicle
from workshop.vehicles.queries import OnFile, Taken

CHUNK = 500


@dataclass(frozen=True)
class TakenIn:
    """What was new, and how many rows said nothing new; or why nothing was taken in."""

    customers: int
    vehicles: int
    known: int
    faults: Sequence[Fault] = ()


@transaction.atomic
def take_in(actor: Actor, rows: Sequence[Taken], file: str) -> TakenIn:
    """Writes the customers and vehicles of the rows that are not on file yet; the same file again writes nothing and records nothing.

    A customer is known by number, else by name with telephone and mail; a vehicle by its number, else by plate, else by owner, make and
    model. What is on file stays as it is. A vehicle of somebody else is a fault, and then nothing at all is written."""
    Company.objects.select_for_update().first()  # two files at once: the second sees what the first wrote
    on_file = OnFile(rows)
    if faults := on_file.faults():
        return TakenIn(0, 0, 0, faults)
    parties, vehicles = _write_parties(rows, on_file), []
    for row in rows:
        if row.vehicle and on_file.vehicle(row) is None:
            vehicle = Vehicle(**row.vehicle)
            on_file.add_vehicle(row, vehicle)
            vehicles.append((vehicle, on_file.party(row)))
    Vehicle.objects.bulk_create([vehicle for vehicle, _ in vehicles], batch_size=CHUNK)
    today = clock.today()
    Owner.objects.bulk_create([Owner(vehicle=vehicle, party=party, from_on=today) for vehicle, party in vehicles], batch_size=CHUNK)
    if parties or vehicles:
        told = {"customers": len(parties), "vehicles": len(vehicles), "file": file[:120]}
        named = {"taken_parties": [str(party.uid) for party in parties], "taken_vehicles": [vehicle.pk for vehicle, _ in vehicles]}
        record("vehicles.taken_in", actor, payload={**told, **named})
    return TakenIn(len(parties), len(vehicles), sum(row.line not in on_file.new for row in rows))


def _write_parties(rows: Iterable[Taken], on_file: OnFile) -> list[Party]:
    made: list[tuple[Party, Taken]] = []
    for row in rows:
        if on_file.party(row) is None:
            party = Party(**row.party)
            on_file.add_party(row, party)
            made.append((party, row))
    Party.objects.bulk_create([party for party, _ in made], batch_size=CHUNK)
    Contact.objects.bulk_create([Contact(party=party, **row.contact) for party, row in made], batch_size=CHUNK)
    return [party for party, _ in made]
