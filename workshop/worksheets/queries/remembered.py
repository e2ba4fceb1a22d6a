"""Deviations, follow-ups and old parts."""

import re
import uuid as uuids
from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django.db.models import F, OuterRef, Q, QuerySet, Subquery, Sum

from workshop.jobs.models import Card
from workshop.vehicles.models import Meter, Reading, Vehicle
from workshop.worksheets.models import Deviation, FollowUp, Joint, OldParts
from workshop.worksheets.queries.joints import good_tick

RECHECK = "Re-check the wheels after 50 to 100 km"  # common practice, no source; the maker's rule wins
RECHECK_KM = 50
RECHECK_WHY = "Common practice, no source. The maker's rule wins."
WHEEL = re.compile(r"(?<!steering )\bwheels?\b|\bhubs?\b", re.I)
MOST_DUE = 200


def deviations_of(vehicle: Vehicle) -> QuerySet[Deviation]:
    """Every deviation of the vehicle, the newest first."""
    return Deviation.objects.filter(card__vehicle=vehicle).select_related("card", "line", "joint").order_by("-at", "-pk")


def follow_up(uid: uuids.UUID) -> FollowUp | None:
    """The follow-up with its card, or None."""
    return FollowUp.objects.select_related("card__vehicle").filter(uid=uid).first()


def _run(unit: str) -> Subquery:
    """What the vehicle has run in all, as vehicles.queries.run: the last counted figure of each meter it had, added up."""
    last = Reading.objects.filter(meter=OuterRef("pk"), held_reason="").order_by("-read_at", "-pk").values("value")[:1]
    meters = Meter.objects.filter(vehicle=OuterRef("card__vehicle"), unit=unit).annotate(last=Subquery(last))
    return Subquery(meters.order_by().values("vehicle").annotate(total=Sum("last")).values("total"))


def _with_run(rows: QuerySet[FollowUp]) -> QuerySet[FollowUp]:
    return rows.select_related("card__vehicle").annotate(km_now=_run("km"), hours_now=_run("h"))


def due(day: date, km: Decimal | None = None, *, vehicle: Vehicle | None = None) -> list[FollowUp]:
    """Open follow-ups whose day has come or whose distance or hours have been run, the oldest first; each with km_now and hours_now.

    `km` stands for what the vehicle has run in all; without it what its meters said last counts. One query, at most 200.
    """
    rows = FollowUp.objects.filter(state=FollowUp.State.OPEN)
    if vehicle is not None:
        rows = rows.filter(card__vehicle=vehicle)
    run = F("km_now") if km is None else km
    come = Q(due_on__lte=day) | Q(due_km__lte=run) | Q(due_hours__lte=F("hours_now"))
    return list(_with_run(rows).filter(come).order_by("at", "pk")[:MOST_DUE])


def follow_ups_of(vehicle: Vehicle) -> list[FollowUp]:
    """What is open on the vehicle, the oldest first; each with km_now and hours_now. One query."""
    return list(_with_run(FollowUp.objects.filter(card__vehicle=vehicle, state=FollowUp.State.OPEN)).order_by("at", "pk"))


def of_card(card: Card) -> list[FollowUp]:
    """Follow-ups that were made on the card, whatever became of them."""
    return list(card.follow_ups.order_by("pk"))


def last_old_parts(card: Card) -> OldParts | None:
    """The answer that counts, or None."""
    return card.old_parts.order_by("-at", "-pk").first()


def wheels_to_recheck(joints: Iterable[Joint], follow_ups: Iterable[FollowUp]) -> bool:
    """Whether a wheel or hub was tightened and nobody has written down that it is to be looked at again. No query."""
    tight = any(WHEEL.search(f"{one.component} {one.line.words}") and good_tick(one) for one in joints if not one.struck_at)
    return tight and not any(WHEEL.search(one.words) for one in follow_ups)
