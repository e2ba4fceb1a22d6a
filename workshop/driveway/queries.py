"""What the mechanic's first page shows and what a phone should keep."""

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.db.models import F, Max, Q, QuerySet
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone

from workshop.history.models import Event
from workshop.jobs.models import Card, Role

MOST_KEPT = 20  # cards on one phone; a day has ten at most
SHELL = (  # what a kept sheet needs to look and work as it should
    "pages/base.css",
    "pages/marks.svg",
    "pages/icon.svg",
    "vendor/htmx.min.js",
    "driveway/outbox.js",
    "driveway/page.js",
)
ASKED_FIRST = (Role.Kind.CALLER, Role.Kind.OWNER, Role.Kind.PAYER)


@dataclass(frozen=True)
class Stop:
    """One card as the run sheet shows it."""

    card: Card
    customer: str
    words: str


@dataclass(frozen=True)
class Sheet:
    """The run sheet: today, tomorrow, and open cards of an earlier day or of none."""

    today: list[Stop]
    tomorrow: list[Stop]
    waiting: list[Stop]

    @property
    def stops(self) -> list[Stop]:
        """All of them, nearest first, as many as a phone keeps."""
        return [*self.today, *self.tomorrow, *self.waiting][:MOST_KEPT]


def midnight(day: date) -> datetime:
    """The first moment of a day where the business is."""
    return timezone.make_aware(datetime.combine(day, time.min))


def open_cards() -> QuerySet[Card]:
    """Cards on which work may still be done, earliest first, with all that a stop shows."""
    states = [Card.State.OPEN, Card.State.READY]
    cards = Card.objects.filter(state__in=states).select_related("vehicle").prefetch_related("roles__party", "complaints")
    return cards.order_by(F("due_at").asc(nulls_last=True), "pk")


def sheet(day: date) -> Sheet:
    """The run sheet of a day. Four queries, however many cards."""
    first, second, third = (midnight(day + timedelta(days=n)) for n in range(3))
    stops = [_stop(card) for card in open_cards().filter(Q(due_at__lt=third) | Q(due_at=None))]
    due = [(stop.card.due_at, stop) for stop in stops]
    return Sheet(
        today=[stop for at, stop in due if at and first <= at < second],
        tomorrow=[stop for at, stop in due if at and at >= second],
        waiting=[stop for at, stop in due if at is None or at < first],
    )


def _stop(card: Card) -> Stop:
    names = {role.kind: role.party.name for role in card.roles.all()}
    words = [complaint.words for complaint in card.complaints.all()]
    return Stop(card, next((names[kind] for kind in ASKED_FIRST if kind in names), ""), words[0] if words else "")


def etags(cards: Iterable[Card]) -> dict[int, str]:
    """Card to a mark that changes with each line of history of the card or its vehicle. Two queries."""
    found = {card.pk: card for card in cards}
    by_card = _last_line("card_id", found)
    by_vehicle = _last_line("vehicle_id", [card.vehicle_id for card in found.values()])
    return {pk: f"{pk}-{by_card.get(pk, 0)}-{by_vehicle.get(card.vehicle_id, 0)}" for pk, card in found.items()}


def _last_line(column: str, keys: Iterable[int]) -> dict[int, int]:
    rows = Event.objects.filter(**{f"{column}__in": list(keys)}).order_by().values_list(column)
    return dict(rows.annotate(last=Max("seq")))


def to_keep(day: date, look: str = "") -> list[dict[str, str]]:
    """Addresses a phone keeps, each with its mark; the run sheet itself first. `look` (the light) changes every mark."""
    cards = [stop.card for stop in sheet(day).stops]
    marks = etags(cards)
    whole = hashlib.sha256("\n".join([day.isoformat(), look, *marks.values()]).encode()).hexdigest()[:16]
    kept = [{"url": reverse("jobs:card", args=[card.pk]), "etag": f"{marks[card.pk]}-{look}"} for card in cards]
    return [{"url": reverse("driveway:day"), "etag": whole}, *kept]


def _source(name: str) -> bytes:
    found = finders.find(name)
    if not found:
        raise FileNotFoundError(f"static/{name}")
    return Path(found).read_bytes()


def worker() -> str:
    """The service worker's text: what it keeps and which build that is, then static/driveway/worker.js as it stands."""
    return _worker() if settings.DEBUG else _kept_worker()


def _worker() -> str:
    code = re.sub(rb"(?m)^\s*(//|/\* --).*\n", b"", _source("driveway/worker.js"))  # whole lines of comment stay at home
    build = hashlib.sha256(code)
    for name in SHELL:
        build.update(_source(name))
    told = {
        "build": build.hexdigest()[:12],
        "day": reverse("driveway:day"),
        "today": reverse("driveway:today"),
        "offline": reverse("driveway:offline"),
        "shell": [static(name) for name in SHELL],
    }
    return f"const HARDSTAND = {json.dumps(told)};\n{code.decode()}"


@lru_cache(maxsize=1)
def _kept_worker() -> str:
    return _worker()


def manifest() -> dict[str, Any]:
    """What the home screen needs (w3.org/TR/appmanifest): name, icons, first page."""
    return {
        "id": reverse("driveway:day"),
        "name": "Hardstand",
        "short_name": "Hardstand",
        "start_url": reverse("driveway:day"),
        "scope": reverse("driveway:day"),
        "display": "standalone",
        "background_color": "#e9e2d2",
        "theme_color": "#e9e2d2",
        "icons": [_icon("icon-192", 192, "any"), _icon("icon-512", 512, "any"), _icon("icon-512-mask", 512, "maskable")],
    }


def _icon(name: str, side: int, purpose: str) -> dict[str, str]:
    return {"src": static(f"driveway/{name}.png"), "sizes": f"{side}x{side}", "type": "image/png", "purpose": purpose}
