"""Cards of the make-believe business, built by the real verbs, with fixed telling values."""

import uuid
from decimal import Decimal

from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.inspections import actions as inspections
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, Line

TESTER = Actor.system("tester")
WORDS = "Races on the climb, smells burnt, oil under it in the morning."
SOURCE = {"kind": "K1", "title": "maker's manual", "edition": "2021-06", "page": "7-14"}
HOSTILE = "<script>alert(1)</script>"


def dairy_card(**more: object) -> Card:
    """The milk lorry: a firm that owns and pays, its driver who calls, its manager who says yes up to 2,000.00."""
    what = {
        "customer": {"kind": "firm", "name": "Churnholt Valley Dairy Co-operative", "contact_name": "Accounts office"},
        "vehicle": {"make": "Tolvar", "model": "Hodbearer 35", "plate": "VM 00 DEMO-1", "vin": "DEMCTLVR350000117"},
        "words": WORDS,
        "place": "Yard of the dairy",
        "moves": "rolls",
        "caller": {"name": "Tobin Marrow", "phone": "+999 555 010 123", "role": "driver"},
        "approver": {"name": "Ilse Brackwater", "role": "manager", "limit_gross": Decimal("2000.00")},
    }
    return jobs.take_enquiry(TESTER, **{**what, **more})


def fill(card: Card, count: int) -> None:
    """So many findings, access steps, lines with a part, notes and joints on a card."""
    step = None
    for number in range(1, count + 1):
        step = jobs.add_step(TESTER, card, words=f"Cover {number}", open_minutes=8, close_minutes=8, needs=[step] if step else [])
        parts = [jobs.PartIn("Seal", Decimal("41.20"))]
        jobs.add_line(TESTER, card, kind="failed", words=f"Seal {number}", own_minutes=34, parts=parts, steps=[step], critical=True)
        inspections.add_finding(TESTER, card, place="Engine, rear", words=f"Seal {number} pushed out", condition="act")
        jobs.add_note(TESTER, card, f"Note {number}")


def seal_line(card: Card, *, accepted: bool = True, **more: object) -> Line:
    """The rear crank seal: 34 min, 41.20 of parts; accepted unless told otherwise."""
    what = {"kind": "failed", "words": "Rear crank seal", "own_minutes": 34, "parts": [jobs.PartIn("Seal", Decimal("41.20"))]}
    line = jobs.add_line(TESTER, card, **{**what, **more})
    if accepted:
        jobs.write_answers(card, {line.pk: Line.Answer.ACCEPTED})
        line.refresh_from_db()
    return line


def told() -> int:
    """How many lines history has."""
    return Event.objects.count()


def kinds(after: int) -> list[str]:
    """What history tells after its first so many lines."""
    return list(Event.objects.filter(seq__gt=after).values_list("kind", flat=True))


def a_uid() -> str:
    """A number as a page carries it."""
    return str(uuid.uuid4())
