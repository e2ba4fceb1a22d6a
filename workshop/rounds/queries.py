"""Read the list and the walk-rounds."""

import hashlib
import json
import uuid as uuids
from collections.abc import Iterable
from functools import cache

from django.conf import settings
from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Coalesce

from workshop.inspections.models import Finding
from workshop.jobs.models import Card
from workshop.rounds.models import Round, RoundRow, Row

UNSEEN = Q(rows__state=RoundRow.State.UNSEEN)
COPIED = ("system", "words", "look_for", "limit_words", "limit_source", "unit")  # what a walk-round takes over from the list


@cache
def usual() -> list[dict[str, str]]:
    """The usual list of fixtures/walk_round.json: common practice, no source, and so no limits."""
    rows: list[dict[str, str]] = json.loads((settings.BASE_DIR / "fixtures" / "walk_round.json").read_text(encoding="utf-8"))["rows"]
    return rows


def by_system[T: (Row, RoundRow)](rows: Iterable[T]) -> list[tuple[str, list[T]]]:
    """The rows under their systems; a system stands where its first row stands."""
    found: dict[str, list[T]] = {}
    for each in rows:
        found.setdefault(each.system, []).append(each)
    return list(found.items())


def listed() -> QuerySet[Row]:
    """The rows that are walked by, in their order."""
    return Row.objects.filter(retired_at=None).order_by("position", "pk")


def retired() -> QuerySet[Row]:
    """The rows that were taken out, the last first."""
    return Row.objects.exclude(retired_at=None).order_by("-retired_at", "-pk")


def row(uid: uuids.UUID) -> Row | None:
    """The row of the list, or None. One query."""
    return Row.objects.filter(uid=uid).first()


def seen_of(row: Row) -> str:
    """What a sheet showed of a row, to tell whether somebody changed it meanwhile."""
    shown = json.dumps([getattr(row, name) for name in COPIED])
    return hashlib.sha256(shown.encode()).hexdigest()[:16]


def rounds_of(card: Card) -> QuerySet[Round]:
    """The card's walk-rounds, the newest first, each with how many rows it has and how many nobody looked at. One query."""
    counts = {"total": Count("rows"), "unseen": Count("rows", filter=UNSEEN)}
    return Round.objects.filter(card=card).annotate(**counts).order_by("-pk")


def walk_round(uid: uuids.UUID) -> Round | None:
    """The walk-round with its card and vehicle, or None. One query."""
    return Round.objects.select_related("card__vehicle").filter(uid=uid).first()


def rows_of(walk: Round) -> list[RoundRow]:
    """Its rows in their order, each with its finding. One query."""
    return list(walk.rows.select_related("finding").order_by("position"))


def round_row(pk: int) -> RoundRow | None:
    """The row with its walk-round, card, vehicle and finding, and the two counts of its walk-round, or None. One query."""
    beside = RoundRow.objects.filter(round=OuterRef("round")).order_by().values("round")
    count = beside.annotate(count=Count("pk"), left=Count("pk", filter=Q(state=RoundRow.State.UNSEEN)))
    counted = {"total": Subquery(count.values("count")), "unseen": Coalesce(Subquery(count.values("left")), 0)}
    return RoundRow.objects.select_related("round__card__vehicle", "finding").annotate(**counted).filter(pk=pk).first()


def next_position() -> int:
    """The place behind the last row of the list."""
    last = Row.objects.order_by(F("position").desc()).first()
    return last.position + 1 if last else 1


def grown_from(finding: Finding) -> Row | None:
    """The row of the list that this finding grew, or None. One query."""
    return Row.objects.filter(grown_from=finding).first()
