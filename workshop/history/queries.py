"""Read history."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from workshop.history import registry
from workshop.history.actions import line_hash, payload_hash
from workshop.history.models import Event, Head

GENESIS = "0" * 64


@dataclass(frozen=True)
class Told:
    """A line as a person reads it."""

    at: datetime
    who: str
    what: str


def of_card(card_id: int, last: int | None = None) -> list[Told]:
    """What happened on a card, newest first."""
    return [_told(event) for event in Event.objects.filter(card_id=card_id).order_by("-seq")[:last]]


def of_vehicle(vehicle_id: int) -> QuerySet[Event]:
    """What happened to a vehicle, newest first."""
    return Event.objects.filter(vehicle_id=vehicle_id).order_by("-seq")


def _told(event: Event) -> Told:
    return Told(event.at, event.actor_name, registry.tell(event.kind, json.loads(event.payload or "{}")))


def problems() -> Iterator[str]:
    """Every break in the chain, as a sentence. Nothing when all is whole."""
    expected, prev = 1, GENESIS
    for event in Event.objects.order_by("seq").iterator(chunk_size=2000):
        if event.seq != expected:
            yield f"History jumps from line {expected - 1} to line {event.seq}."
        if event.prev != prev:
            yield f"Line {event.seq} does not follow the line before it."
        if event.payload and payload_hash(event.salt, event.payload) != event.payload_sha:
            yield f"Line {event.seq} says something else than when it was written."
        if line_hash(event) != event.hash:
            yield f"Line {event.seq} was changed after it was written."
        expected, prev = event.seq + 1, event.hash
    head = Head.objects.get(pk=1)
    if (head.seq, head.hash) != (expected - 1, prev):
        yield f"The chain ends at line {expected - 1}, its head says {head.seq}."
