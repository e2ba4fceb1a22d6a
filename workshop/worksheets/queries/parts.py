"""Which part sat where, when."""

import uuid as uuids
from datetime import date

from django.db.models import Q, QuerySet

from workshop import clock
from workshop.jobs.models import Card
from workshop.vehicles.models import Vehicle
from workshop.worksheets.models import FittedPart


def same(text: str) -> str:
    """Places and names compare without capitals and double spaces."""
    return " ".join(text.split()).casefold()


def configuration(vehicle: Vehicle, day: date | None = None) -> QuerySet[FittedPart]:
    """What sat in the vehicle at the end of a day, today unless told: fitted on it or before, not off yet. One query."""
    on = day or clock.today()
    rows = FittedPart.objects.filter(card__vehicle=vehicle, fitted_on__lte=on).filter(Q(removed_on=None) | Q(removed_on__gt=on))
    return rows.select_related("card", "line").order_by("part", "position", "pk")


def fitted_on_card(card: Card) -> QuerySet[FittedPart]:
    """Parts fitted on a card, also those that came off again."""
    return card.fitted_parts.select_related("line").order_by("part", "position", "pk")


def sitting_or_of(card: Card) -> list[FittedPart]:
    """What sits in the card's vehicle now, and what was fitted or taken off on the card; those of the card first. One query."""
    rows = FittedPart.objects.filter(card__vehicle=card.vehicle_id).filter(Q(removed_on=None) | Q(card=card) | Q(removed_card=card))
    found = rows.select_related("card", "line", "taught_photo").order_by("part", "position", "pk")
    return sorted(found, key=lambda one: one.card_id != card.pk)


def part(uid: uuids.UUID) -> FittedPart | None:
    """The part with its card, or None."""
    return FittedPart.objects.select_related("card__vehicle").filter(uid=uid).first()
