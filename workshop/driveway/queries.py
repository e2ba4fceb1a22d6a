"""What the mechanic's first page shows and what a phone should keep."""

import hashlib
import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.staticfiles import finders
from django.db.models import F, Max, OuterRef, Prefetch, Q, QuerySet, Subquery, prefetch_related_objects
from django.templatetags.static import static
from django.urls import reverse
from django.utils import timezone

from workshop.customers.models import Contact
from workshop.history.models import Event
from workshop.inspections.models import SiteCheck
from workshop.jobs import queries as jobs
from workshop.jobs.models import Card, Complaint, Line, LinePart
from workshop.scheduling import queries as scheduling
from workshop.scheduling.models import Stop

MOST_KEPT = 20  # cards on one phone; a day has ten at most
SHELL = (  # what a kept sheet needs to look and work as it should
    "pages/base.css",
    "pages/marks.svg",
    "pages/icon.svg",
    "vendor/htmx.min.js",
    "driveway/outbox.js",
    "driveway/page.js",
)
MOST_WAITING = 30  # of the cards without a day; the desk has all
MOST_PARTS = 12
TO_FETCH = (Line.Progress.PLANNED, Line.Progress.STARTED)


@dataclass(frozen=True)
class Load:
    """What goes on the van for one card: parts with their count, what is missing, tools and consumables of its operations."""

    parts: list[str] = field(default_factory=list)
    waiting: list[str] = field(default_factory=list)
    tools: list[str] = field(default_factory=list)
    consumables: list[str] = field(default_factory=list)


@dataclass
class Row:
    """One stop as the run sheet shows it; a card with a time and no stop is one too."""

    card: Card
    words: str
    at: datetime | None
    stop: Stop | None = None
    out_of_order: bool = False  # driven after one that is later
    load: Load = field(default_factory=Load)
    ground: SiteCheck | None = None
    left_at: datetime | None = None  # nobody is with it since then
    at_work: str = ""  # whose clock runs on it

    @property
    def alone(self) -> SiteCheck | None:
        """The look at the place of this very card after which somebody works alone and has a time to check in."""
        return self.ground if self.ground and self.ground.card_id == self.card.pk and self.ground.check_in_at else None

    @property
    def on(self) -> date | None:
        """The day where the business is."""
        return scheduling.day_of(self.at) if self.at else None

    @property
    def customer(self) -> str:
        """Whose card it is."""
        return scheduling.customer(self.card)[0]

    @property
    def contact(self) -> Contact | None:
        """Whom to call."""
        return scheduling.customer(self.card)[1]

    @property
    def done(self) -> bool:
        """We were there, or the whole card is behind us."""
        return self.card.state == Card.State.CLOSED or bool(self.stop and self.stop.done_at)

    @property
    def calls(self) -> str:
        """The number as a telephone takes it: figures and a plus."""
        return re.sub(r"[^\d+]", "", self.contact.phone) if self.contact else ""

    @property
    def first_name(self) -> str:
        """Whom the button calls."""
        return (self.contact.name.split() or ["them"])[0][:20] if self.contact else ""

    def print(self) -> str:
        """What of it may change without a line of history on its card."""
        looked = (self.ground.pk, self.ground.ground) if self.ground else ()
        where = self.stop and (self.stop.position, self.stop.changes)
        return f"{self.card.pk} {self.at} {where} {looked} {self.load} {self.calls} {self.left_at} {self.at_work}"


@dataclass(frozen=True)
class Sheet:
    """The run sheet: today, tomorrow, and open cards of an earlier day or of none."""

    today: list[Row]
    tomorrow: list[Row]
    waiting: list[Row]

    @property
    def stops(self) -> list[Row]:
        """All of them, nearest first, as many as a phone keeps."""
        return [*self.today, *self.tomorrow, *self.waiting][:MOST_KEPT]

    @property
    def next(self) -> Row | None:
        """Where we go now."""
        return next((row for row in [*self.today, *self.tomorrow] if not row.done), None)


def midnight(day: date) -> datetime:
    """The first moment of a day where the business is."""
    return timezone.make_aware(datetime.combine(day, time.min))


def first_words(card: str) -> Subquery:
    """What the customer said first; `card` names the way to it."""
    return Subquery(Complaint.objects.filter(card=OuterRef(card)).order_by("pk").values("words")[:1])


def open_cards() -> QuerySet[Card]:
    """Cards on which work may still be done, earliest first, with their vehicles and first words."""
    cards = Card.objects.filter(state__in=[Card.State.OPEN, Card.State.READY]).select_related("vehicle")
    told = {"words": first_words("pk"), "left_at": jobs.left("left_at"), "at_work": jobs.at_work("line__card")}
    return cards.annotate(**told).order_by(F("due_at").asc(nulls_last=True), "pk")


def sheet(day: date) -> Sheet:
    """The run sheet of a day: stops, and open cards that have a time or none and no stop. Four queries, however many there are."""
    tomorrow = day + timedelta(days=1)
    first, third = midnight(day), midnight(tomorrow + timedelta(days=1))
    told = {"words": first_words("card"), "left_at": jobs.left("left_at", "card"), "at_work": jobs.at_work("line__card", "card")}
    stops = list(scheduling.live(day, tomorrow).select_related("card__vehicle").annotate(**told))
    undone = {stop.card_id for stop in stops if not stop.done_at}
    timed = open_cards().filter(due_at__gte=first, due_at__lt=third).exclude(pk__in={stop.card_id for stop in stops})
    left = open_cards().filter(Q(due_at__lt=first) | Q(due_at=None)).exclude(pk__in=undone)[:MOST_WAITING]
    near, waiting = ([_row(card, card, card.due_at) for card in cards] for cards in (timed, left))
    rows = [_row(stop, stop.card, stop.planned_at, stop) for stop in stops]
    prefetch_related_objects([row.card for row in [*rows, *near, *waiting]], scheduling.PEOPLE)
    return Sheet(
        today=_merged(*([row for row in some if row.on == day] for some in (rows, near))),
        tomorrow=_merged(*([row for row in some if row.on == tomorrow] for some in (rows, near))),
        waiting=waiting,
    )


def _row(told: Any, card: Card, at: datetime | None, stop: Stop | None = None) -> Row:
    return Row(card, told.words or "", at, stop, left_at=told.left_at, at_work=told.at_work or "")


def _merged(stops: list[Row], others: list[Row]) -> list[Row]:
    """Stops in the order they are driven; a card that has only a time goes before the first stop that is later."""
    rows = list(stops)
    for other in others:
        place = next((n for n, row in enumerate(rows) if row.at and other.at and row.at > other.at), len(rows))
        rows.insert(place, other)
    for before, row in pairwise(rows):
        row.out_of_order = bool(not before.done and before.at and row.at and before.at > row.at)
    return rows


def packed(sheet: Sheet) -> Sheet:
    """The same sheet with what to bring and the ground where it stands. Three queries."""
    rows = [*sheet.today, *sheet.tomorrow]
    cards = {row.card.pk: row.card for row in rows}
    loads, grounds = loads_of(cards.values()), _grounds(cards.values())
    for row in rows:
        row.load = loads.get(row.card.pk, Load())
        row.ground = grounds.get(row.card.pk)
    return sheet


def loads_of(cards: Iterable[Card]) -> dict[int, Load]:
    """Card to what its accepted lines that are not done need: parts of the same name together, with what was counted in hand, and what
    the operations name. Two queries, however many there are."""
    lines = Line.objects.filter(card__in=list(cards), answer=Line.Answer.ACCEPTED, progress__in=TO_FETCH)
    by_card: dict[int, list[Line]] = {}
    for line in lines.order_by("number").prefetch_related(Prefetch("parts", LinePart.objects.order_by("pk"))):
        by_card.setdefault(line.card_id, []).append(line)
    return {pk: _load(lines) for pk, lines in by_card.items()}


def _load(lines: Iterable[Line]) -> Load:
    load, together = Load(), dict[tuple[str, str], list[LinePart]]()
    for line in lines:
        for part in line.parts.all():
            together.setdefault((part.words.casefold(), part.part_number), []).append(part)
        _bring(load, line.bring)
    short = {key: missing for key, parts in together.items() if (missing := sum((part.short for part in parts), Decimal(0)))}
    for key in sorted(together, key=lambda key: key not in short)[:MOST_PARTS]:  # what is short first, so that none of it is left out
        parts = together[key]
        needed = sum((part.quantity for part in parts), Decimal(0))
        counts = [part.in_hand for part in parts if part.in_hand is not None]
        held = f" ({_figure(sum(counts, Decimal(0)))} in hand)" if counts else ""
        load.parts.append((parts[0].words if needed == 1 else f"{_figure(needed)} {parts[0].words}") + held)
    load.waiting.extend(f"{_figure(missing)} {together[key][0].words}" for key, missing in list(short.items())[:MOST_PARTS])
    for named, count in ((load.parts, len(together)), (load.waiting, len(short))):
        named.extend([f"and {count - MOST_PARTS} more"] if count > MOST_PARTS else [])
    return load


def _bring(load: Load, kept: str) -> None:
    """Tools and consumables of a line, each once; a piece without a name goes with the one before it."""
    name = "tools"
    for piece in filter(None, kept.split("; ")):
        begins, _, what = piece.partition(": ")
        is_named = begins in {"tools", "consumables"} and what
        name, words = (begins, what) if is_named else (name, piece)
        named = load.consumables if name == "consumables" else load.tools
        named += [words] if words not in named else []


def _figure(number: Decimal) -> str:
    return f"{number.normalize():f}"


def _grounds(cards: Iterable[Card]) -> dict[int, SiteCheck]:
    """Card to its newest site check, else the newest of the same vehicle at the same place. One query."""
    there = list(cards)
    checks = SiteCheck.objects.filter(card__vehicle__in={card.vehicle_id for card in there}).select_related("card").order_by("at", "pk")
    own: dict[int, SiteCheck] = {}
    at_place: dict[tuple[int, str], SiteCheck] = {}
    for check in checks:
        own[check.card_id] = check
        if check.card.place:
            at_place[check.card.vehicle_id, check.card.place] = check
    found = {card.pk: own.get(card.pk) or at_place.get((card.vehicle_id, card.place)) for card in there}
    return {pk: check for pk, check in found.items() if check}


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
    rows = packed(sheet(day)).stops
    cards = {row.card.pk: row.card for row in rows}
    marks = etags(cards.values())
    shown = [row.print() for row in rows]
    whole = hashlib.sha256("\n".join([day.isoformat(), look, *marks.values(), *shown]).encode()).hexdigest()[:16]
    kept = [{"url": reverse("jobs:card", args=[pk]), "etag": f"{marks[pk]}-{look}"} for pk in cards]
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
