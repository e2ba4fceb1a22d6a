"""Make lines of work of findings."""

from typing import Any

from django.db import transaction

from workshop.history.actions import Actor, record
from workshop.inspections.actions.common import locked
from workshop.inspections.models import Finding, FindingLine
from workshop.jobs.actions import write_again, write_line
from workshop.jobs.models import Card, Line


@transaction.atomic
def line_from_finding(actor: Actor, finding: Finding, *, kind: str = "failed", words: str = "", **what: Any) -> Line:
    """A draft line that mends what was found; further keywords as jobs.actions.add_line. Its words unless others are given."""
    line = write_line(finding.card, kind=kind, words=words or finding.words, **what)
    FindingLine.objects.get_or_create(finding=finding, line=line)
    told = {"number": line.number, "finding": finding.words}
    record("inspections.line_made", actor, card_id=line.card_id, vehicle_id=finding.card.vehicle_id, payload=told)
    return line


@transaction.atomic
def offer_again(actor: Actor, card: Card, declined: Line) -> Line:
    """A draft on this card of a line that was "not now" on an earlier one, with its findings and their old photos.

    Asked twice it gives the draft that is there. Refused as jobs.actions.write_again refuses.
    """
    locked(card)
    there = set(card.lines.values_list("pk", flat=True))
    line = write_again(card, declined)
    if line.pk in there:
        return line
    found = FindingLine.objects.filter(line=declined).order_by("pk").values_list("finding_id", flat=True)
    FindingLine.objects.bulk_create(FindingLine(finding_id=pk, line=line) for pk in found)
    told = {"number": line.number, "words": line.words, "earlier": str(declined.card)}
    record("inspections.line_again", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=told)
    return line
