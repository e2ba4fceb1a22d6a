"""Two entries of one customer, or of one vehicle, become one. Here, because the roles and the cards move with them."""

from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from workshop.customers.actions import write_merged
from workshop.customers.models import Party
from workshop.history.actions import Actor, record
from workshop.jobs.actions.common import Refused
from workshop.jobs.actions.mend import reason_of
from workshop.jobs.models import Card, Line, Role
from workshop.vehicles.actions import write_merged_vehicle, write_owner_moved
from workshop.vehicles.models import Vehicle


@transaction.atomic
def merge_parties(actor: Actor, keep: Party, drop: Party, reason: str) -> Party:
    """Roles, owners, contacts and approvers of `drop` become those of `keep`, which also takes over what it lacks itself.

    `drop` stays, pointing at `keep`: documents, payments and versions are frozen and go on naming it; queries follow. History says
    what was moved. Refused while an offer to `drop` is out: its page could not name the next version.
    """
    why = reason_of(reason)
    list(Card.objects.select_for_update().filter(roles__party=drop).order_by("pk"))
    kept, dropped = _two(Party.objects.all(), keep.pk, drop.pk)
    out = Card.objects.filter(roles__party=dropped, roles__kind=Role.Kind.PAYER, lines__answer=Line.Answer.OFFERED).first()
    if out:
        raise Refused(f"A quote on card {out} lies before {dropped.name}. Take it back or wait for the answer, then merge.")
    roles = list(Role.objects.filter(party=dropped).order_by("pk").values_list("pk", flat=True))
    Role.objects.filter(pk__in=roles).update(party=kept)
    moved = {"roles": roles, "owners": write_owner_moved(dropped, kept), **write_merged(kept, dropped)}
    told = {"keep": kept.name, "drop": dropped.name, "party": str(kept.uid), "dropped_party": str(dropped.uid), "reason": why}
    record("jobs.parties_merged", actor, payload={**told, **_what(moved)})
    return kept


@transaction.atomic
def merge_vehicles(actor: Actor, keep: Vehicle, drop: Vehicle, reason: str) -> Vehicle:
    """Cards, owners and readings of `drop` become those of `keep`, which also takes over what it lacks itself; `drop` stays, pointing
    at `keep`. Refused for two different vehicle numbers: one vehicle has one."""
    why = reason_of(reason)
    list(Card.objects.select_for_update().filter(vehicle=drop).order_by("pk"))
    kept, dropped = _two(Vehicle.objects.all(), keep.pk, drop.pk)
    if kept.vin and dropped.vin and kept.vin != dropped.vin:
        raise Refused(f"Two vehicle numbers, {kept.vin} and {dropped.vin}. One vehicle has one: correct it first, if they are the same.")
    cards = list(Card.objects.filter(vehicle=dropped).order_by("pk").values_list("pk", flat=True))
    Card.objects.filter(pk__in=cards).update(vehicle=kept)
    moved = {"cards": cards, **write_merged_vehicle(kept, dropped)}
    told = {"keep": _named(kept), "drop": _named(dropped), "vehicle": kept.pk, "dropped_vehicle": dropped.pk, "reason": why}
    record("jobs.vehicles_merged", actor, vehicle_id=kept.pk, payload={**told, **_what(moved)})
    return kept


def _named(vehicle: Vehicle) -> str:
    return f"{vehicle} {vehicle.plate}".strip()


def _what(moved: dict[str, Any]) -> dict[str, Any]:
    """What was moved, without what there was none of."""
    return {name: what for name, what in moved.items() if what}


def _two[T: (Party, Vehicle)](entries: QuerySet[T], keep: int, drop: int) -> tuple[T, T]:
    """Both entries, locked in the order of their ids. Refused for one and the same, and for one that was merged before."""
    if keep == drop:
        raise Refused("That is this entry itself. Choose the other one.")
    found = {entry.pk: entry for entry in entries.select_for_update().filter(pk__in=[keep, drop]).order_by("pk")}
    for entry in found.values():
        if entry.merged_into_id:
            raise Refused(f"{entry} was merged before. Open the entry it went into.")
    return found[keep], found[drop]
