"""What the hand-over sheet of a card says, as it is now."""

import uuid as uuids
from collections.abc import Iterable
from typing import Any

from django.db.models import Prefetch, QuerySet

from workshop.book.models import HandOver
from workshop.calc import canonical
from workshop.company import queries as company
from workshop.inspections.models import Finding, FindingLine, Intake
from workshop.jobs.models import Card, Complaint, Line
from workshop.vehicles.queries import last_value
from workshop.worksheets import queries as worksheets
from workshop.worksheets.models import FittedPart, FollowUp

Sheet = dict[str, Any]
DONE = (Line.Progress.DONE, Line.Progress.CHECKED)
WATCHED = (Finding.Condition.STOP, Finding.Condition.ACT, Finding.Condition.WATCH)  # in the order of the sheet


def card(pk: int) -> Card | None:
    """The card with its vehicle, what its meters show now (km, hours), complaints and lines, or None. Three queries."""
    complaints = Prefetch("complaints", Complaint.objects.order_by("pk"))
    rows = Card.objects.select_related("vehicle").annotate(km=last_value("km"), hours=last_value("h"))
    return rows.prefetch_related(complaints, Prefetch("lines", Line.objects.order_by("number"))).filter(pk=pk).first()


def of(card: Card) -> QuerySet[HandOver]:
    """The hand-overs of a card, the newest first."""
    return card.hand_overs.order_by("-at", "-pk")


def given(uid: uuids.UUID, card: Card) -> HandOver | None:
    """One hand-over of the card, or None."""
    return HandOver.objects.filter(uid=uid, card=card).first()


def fingerprint(sheet: Sheet) -> str:
    """The hash of what a sheet says: the same facts give the same."""
    return canonical.sha256(canonical.dumps(sheet))


def sheet(card: Card) -> Sheet:
    """All that the sheet says, as plain values: amounts Decimal, days and moments as they are. The card comes from card(pk).

    Ten queries, however many rows.
    """
    lines, parts = list(card.lines.all()), worksheets.sitting_or_of(card)
    return {
        "number": str(card),
        "business": _business(),
        "vehicle": {name: getattr(card.vehicle, name) for name in ("make", "model", "plate", "vin")},
        **_came(card),
        "done": [_line(line) for line in lines if line.answer == Line.Answer.ACCEPTED and line.progress in DONE],
        "not_now": [{**_line(line), "if_left": line.if_left} for line in lines if line.answer == Line.Answer.NOT_NOW],
        "advice": {"which": card.drive_advice, "words": card.drive_words},
        "limited": [_limited(part) for part in parts if part.untaught],
        "deviations": [_deviation(one) for one in card.deviations.select_related("joint").order_by("pk")],
        "watch": _watched(card),
        "follow_ups": [_follow_up(one) for one in worksheets.follow_ups_of(card.vehicle)],
        "complaints": [{"words": one.words, "outcome": one.outcome} for one in card.complaints.all()],
        "fitted": [_part(part) for part in parts if part.card_id == card.pk and part.removed_on is None],
        "old_parts": _old_parts(card),
        "wording": getattr(company.wording("hand_over"), "text", ""),
    }


def _business() -> Sheet:
    found = company.company()
    return {name: getattr(found, name) for name in ("name", "address", "phone", "email", "licence_line")}


def _came(card: Card) -> Sheet:
    """What its meters showed and what was in it when it came, and what they show now."""
    came = Intake.objects.filter(card=card).select_related("km", "hours").order_by("pk")
    km = next((one.km.value for one in came if one.km), None)
    hours = next((one.hours.value for one in came if one.hours), None)
    last = list(came)[-1] if came else None
    now = {"km": card.__dict__.get("km"), "hours": card.__dict__.get("hours")}
    left = {"keys": last.keys if last else "", "belongings": last.belongings if last else "", "missing": last.begun_missing if last else ""}
    return {"came": {"km": km, "hours": hours}, "now": now, **left}


def _line(line: Line) -> Sheet:
    return {"number": line.number, "words": line.plain_words or line.words}


def _limited(part: FittedPart) -> Sheet:
    return {"part": str(part), "reason": part.let_go_reason, "by": part.let_go_by}


def _deviation(one: Any) -> Sheet:
    what = {name: getattr(one, name) for name in ("makers_value", "fitted_value", "reason", "agreed_by")}
    return {**what, "joint": one.joint.component if one.joint else ""}


def _watched(card: Card) -> list[Sheet]:
    """Findings that are neither mended nor told under "not now": the most urgent first."""
    links = Prefetch("lines", FindingLine.objects.select_related("line"))
    rows = Finding.objects.filter(card=card, condition__in=WATCHED).prefetch_related(links).order_by("pk")
    names = ("words", "place", "condition", "measured", "unit", "limit_words")
    left = [one for one in rows if not _settled(link.line for link in one.lines.all())]
    return [
        {name: getattr(one, name) for name in names}
        for one in sorted(left, key=lambda one: WATCHED.index(Finding.Condition(one.condition)))
    ]


def _settled(lines: Iterable[Line]) -> bool:
    return any(line.progress in DONE or line.answer == Line.Answer.NOT_NOW for line in lines)


def _follow_up(one: FollowUp) -> Sheet:
    return {name: getattr(one, name) for name in ("words", "why", "due_on", "due_km", "due_hours")}


def _part(part: FittedPart) -> Sheet:
    return {name: getattr(part, name) for name in ("part", "position", "part_number", "serial", "code")}


def _old_parts(card: Card) -> Sheet | None:
    answer = worksheets.last_old_parts(card)
    return {"outcome": answer.outcome, "words": answer.words} if answer else None
