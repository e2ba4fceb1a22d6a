"""What a card carries on from the vehicle's other cards, in one query: lines left, things to look at again, deviations."""

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import CharField, DateField, DateTimeField, DecimalField, F, Field, OuterRef, QuerySet, Subquery, UUIDField, Value
from django.db.models.functions import Cast

from workshop.book.queries.visits import with_photo
from workshop.jobs.models import Card, Line
from workshop.worksheets.models import Deviation, FollowUp

MOST = 60
COLUMNS = (
    "kind_", "uid_", "words_", "more_", "card_", "opened_", "photo_uid", "found_at", "answered_at", "due_on_", "due_km_", "due_hours_",
)  # fmt: skip


@dataclass(frozen=True)
class From:
    """One thing from another card. Which of the rest it has hangs on its kind."""

    kind: str
    uid: UUID
    words: str
    more: str
    card: str  # its number
    opened_at: datetime
    photo_uid: UUID | None
    found_at: datetime | None
    answered_at: datetime | None
    due_on: date | None
    due_km: Decimal | None
    due_hours: Decimal | None
    state: str = "open"

    @property
    def if_left(self) -> str:
        """The risk sentence of a line."""
        return self.more

    @property
    def why(self) -> str:
        """The reason of a follow-up."""
        return self.more


@dataclass
class Carried:
    """The three heaps, each the newest first."""

    before: list[From] = field(default_factory=list)
    follow_ups: list[From] = field(default_factory=list)
    deviations: list[From] = field(default_factory=list)


def carried(card: Card) -> Carried:
    """Lines "not now" on earlier cards and not offered again since, each with the photo of then; follow-ups open from other cards;
    deviations of other cards. One query; at most sixty."""
    rows: Any = _lines(card).union(_follow_ups(card), _deviations(card), all=True)
    found = Carried()
    heaps = {"line": found.before, "follow_up": found.follow_ups, "deviation": found.deviations}
    for row in rows.order_by("-opened_")[:MOST]:
        one = From(*[*row[:4], row[4] or "without a number", *row[5:]])
        heaps[one.kind].append(one)
    return found


def _none(kind: "Field[Any, Any]") -> Cast:
    return Cast(Value(None), kind)


def _empty() -> dict[str, Any]:
    figure = DecimalField(max_digits=10, decimal_places=1)
    moments = {name: _none(DateTimeField()) for name in ("found_at", "answered_at")}
    return {
        "photo_uid": _none(UUIDField()),
        **moments,
        "due_on_": _none(DateField()),
        "due_km_": _none(figure),
        "due_hours_": _none(figure),
    }


def _row(rows: QuerySet[Any], kind: str, said: Any, more: str, **columns: Any) -> QuerySet[Any]:
    same = {"kind_": Value(kind, CharField()), "uid_": F("uid"), "words_": said, "more_": F(more), "card_": F("card__number")}
    found: QuerySet[Any] = rows.annotate(**same, opened_=F("card__opened_at"), **columns).order_by().values_list(*COLUMNS)
    return found


def _lines(card: Card) -> QuerySet[Any]:
    again = Line.objects.filter(repeats=OuterRef("pk")).exclude(answer=Line.Answer.WITHDRAWN).values("pk")[:1]
    rows = Line.objects.filter(card__vehicle=card.vehicle_id, answer=Line.Answer.NOT_NOW, card__opened_at__lte=card.opened_at)
    left = rows.exclude(card=card).annotate(again=Subquery(again)).filter(again=None)
    none = {name: column for name, column in _empty().items() if name.startswith("due")}
    return _row(with_photo(left), "line", F("words"), "if_left", **none)


def _follow_ups(card: Card) -> QuerySet[Any]:
    rows = FollowUp.objects.filter(card__vehicle=card.vehicle_id, state=FollowUp.State.OPEN).exclude(card=card)
    due = {f"{name}_": F(name) for name in ("due_on", "due_km", "due_hours")}
    return _row(rows, "follow_up", F("words"), "why", **{**_empty(), **due})


def _deviations(card: Card) -> QuerySet[Any]:
    rows = Deviation.objects.filter(card__vehicle=card.vehicle_id).exclude(card=card)
    return _row(rows, "deviation", F("fitted_value"), "makers_value", **_empty())
