"""Everything ever known of one vehicle, newest visit first, a page at a time."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import F, OuterRef, Prefetch, Q, QuerySet, Subquery

from workshop.book.models import HandOver
from workshop.customers.models import Party
from workshop.inspections.models import Finding, FindingPhoto
from workshop.invoices.models import Document
from workshop.jobs.models import Card, Line, Role
from workshop.quotes.models import Answer
from workshop.vehicles.models import Owner, Reading, Vehicle
from workshop.worksheets.models import Deviation, FittedPart, FollowUp, Joint, Tick

VISITS = 8  # on a page
MOST_READINGS = 100
MOST_BEFORE = 20
SAID = (Line.Answer.ACCEPTED, Line.Answer.NOT_NOW, Line.Answer.WITHDRAWN, Line.Answer.EXPIRED, Line.Answer.OFFERED)


@dataclass(frozen=True)
class Entry:
    """One thing in the book: a visit (a card with all that hangs on it) or a reading."""

    at: dt.datetime
    card: Card | None = None
    reading: Reading | None = None
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True)
class Leaf:
    """A page of the book, and where the one before it in time begins ("" when this is the first ever)."""

    entries: list[Entry]
    older: str


def vehicle(pk: int) -> Vehicle | None:
    """The vehicle, or None."""
    return Vehicle.objects.select_related("merged_into").filter(pk=pk).first()


def owners(vehicle: Vehicle) -> list[Owner]:
    """Who owned it, the last first."""
    return list(vehicle.owners.select_related("party").order_by("-from_on", "-pk"))


def held_readings(vehicle: Vehicle) -> list[Reading]:
    """Readings that wait for a reason, newest first."""
    held = Reading.objects.filter(meter__vehicle=vehicle, reason="").exclude(held_reason="")
    return list(held.select_related("meter").order_by("-read_at", "-pk")[:MOST_READINGS])


def leaf(vehicle: Vehicle, before: str = "") -> Leaf:
    """The visits of one page with what lies between them in time. Thirteen queries, however long the book and however many vehicles.

    `before` is a place as Leaf.older gives it; what is no such place means the newest page.
    """
    place = _place(before)
    cards = list(_cards(vehicle, place)[: VISITS + 1])
    shown = cards[:VISITS]
    older = f"{shown[-1].opened_at.isoformat()}~{shown[-1].pk}" if len(cards) > VISITS else ""
    lines = _lines(shown)
    entries = [Entry(card.opened_at, card=card, lines=tuple(lines[card.pk])) for card in shown]
    readings = _readings(vehicle, place[0] if place else None, shown[-1].opened_at if older else None)
    entries += [Entry(reading.read_at, reading=reading) for reading in readings]
    return Leaf(sorted(entries, key=lambda entry: entry.at, reverse=True), older)


def _place(text: str) -> tuple[dt.datetime, int] | None:
    at, _, pk = text.partition("~")
    try:
        moment = dt.datetime.fromisoformat(at)
        number = int(pk)
    except ValueError:
        return None
    return (moment, number) if moment.tzinfo and 0 <= number < 2**62 else None


def _cards(vehicle: Vehicle, place: tuple[dt.datetime, int] | None) -> QuerySet[Card]:
    """The cards after a place, newest first, with words, findings and their photos, documents, notes, fitted parts, deviations,
    follow-ups and hand-overs."""
    photos = Prefetch("photos", FindingPhoto.objects.select_related("photo", "origin_card").order_by("pk"))
    documents = Prefetch("documents", Document.objects.defer("body").order_by("pk"))
    cards = Card.objects.filter(vehicle=vehicle)
    if place:
        cards = cards.filter(Q(opened_at__lt=place[0]) | Q(opened_at=place[0], pk__lt=place[1]))
    return cards.prefetch_related(
        "complaints",
        "notes",
        documents,
        Prefetch("findings", Finding.objects.prefetch_related(photos).order_by("pk")),
        Prefetch("fitted_parts", FittedPart.objects.order_by("part", "position", "pk")),
        Prefetch("deviations", Deviation.objects.select_related("joint").order_by("pk")),
        Prefetch("follow_ups", FollowUp.objects.order_by("pk")),
        Prefetch("hand_overs", HandOver.objects.order_by("at", "pk")),
    ).order_by("-opened_at", "-pk")


def _lines(cards: Iterable[Card]) -> dict[int, list[Line]]:
    """The lines that were offered or done, with what the tool showed on their joints and, of those left, the photo they were left by."""
    ticks = Prefetch("ticks", Tick.objects.order_by("at", "pk"))
    joints = Prefetch("joints", Joint.objects.prefetch_related(ticks).order_by("position"))
    rows = (
        with_photo(Line.objects.filter(card__in=[card.pk for card in cards], answer__in=SAID)).prefetch_related(joints).order_by("number")
    )
    found: dict[int, list[Line]] = defaultdict(list)
    for line in rows:
        found[line.card_id].append(line)
    return found


def with_photo(lines: QuerySet[Line]) -> QuerySet[Line]:
    """Each with the photo and the moment of the finding behind it, and when the customer answered."""
    pictures = FindingPhoto.objects.filter(finding__lines__line=OuterRef("pk")).order_by("pk")
    answered = Answer.objects.filter(version_line__line=OuterRef("pk")).order_by("-pk").values("go_ahead__at")[:1]
    return lines.annotate(
        photo_uid=Subquery(pictures.values("photo__uid")[:1]),
        found_at=Subquery(pictures.values("finding__found_at")[:1]),
        answered_at=Subquery(answered),
    )


def _readings(vehicle: Vehicle, until: dt.datetime | None, since: dt.datetime | None) -> QuerySet[Reading]:
    rows = Reading.objects.filter(meter__vehicle=vehicle).select_related("meter")
    if until:
        rows = rows.filter(read_at__lt=until)
    if since:
        rows = rows.filter(read_at__gte=since)
    return rows.order_by("-read_at", "-pk")[:MOST_READINGS]


def declined_before(vehicle: Vehicle, card: Card | None = None) -> list[Any]:
    """Lines answered "not now" on earlier cards of the vehicle and not offered again since, newest first; each with photo_uid, found_at
    and answered_at. One query; at most twenty."""
    again = Line.objects.filter(repeats=OuterRef("pk")).exclude(answer=Line.Answer.WITHDRAWN)
    rows = Line.objects.filter(card__vehicle=vehicle, answer=Line.Answer.NOT_NOW).annotate(
        again=Subquery(again.values("pk")[:1]), opened_at=F("card__opened_at")
    )
    if card is not None:
        rows = rows.filter(card__opened_at__lte=card.opened_at).exclude(card=card)
    return list(with_photo(rows.filter(again=None)).select_related("card").order_by("-card__opened_at", "-pk")[:MOST_BEFORE])


def party(pk: int) -> Party | None:
    """The customer with contacts, and what was merged into the entry, or None."""
    return Party.objects.select_related("merged_into").prefetch_related("contacts", "merged").filter(pk=pk).first()


def vehicles_of(party: Party) -> list[Vehicle]:
    """Vehicles the customer owns or owned, newest first."""
    owned = Owner.objects.filter(party=party).values("vehicle")
    return list(Vehicle.objects.filter(pk__in=owned, merged_into=None).order_by("-pk")[:50])


def cards_of(party: Party) -> list[Card]:
    """The customer's newest cards, whatever they stand for on them."""
    named = Role.objects.filter(party=party).values("card")
    return list(Card.objects.filter(pk__in=named).select_related("vehicle").order_by("-opened_at", "-pk")[:20])


def documents_of(entries: list[int]) -> list[Document]:
    """The newest papers that name the customer, under any entry that was merged into this one."""
    return list(Document.objects.filter(payer__in=entries).defer("body").order_by("-issued_on", "-pk")[:20])
