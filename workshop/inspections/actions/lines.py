"""Make lines of work of findings."""

from typing import Any

from django.db import transaction

from workshop.history.actions import Actor, record
from workshop.inspections.actions.common import locked
from workshop.inspections.models import Finding, FindingLine
from workshop.jobs.actions import UNNAMED, Refused, write_again, write_line
from workshop.jobs.models import Card, Line

SEEN = "see the photo"  # what stands for the words of a finding that has only a photo
# Common practice, no source: where a joint that gives way hurts somebody.
CAN_HURT = (
    "brake",
    "steer",
    "wheel",
    "hub",
    "suspension",
    "tow",
    "lift",
    "fuel",
    "driveline",
    "propshaft",
)


@transaction.atomic
def line_from_finding(actor: Actor, finding: Finding, *, kind: str = "failed", words: str = "", **what: Any) -> Line:
    """A draft line that mends what was found; further keywords as jobs.actions.add_line. Its words unless others are given.

    The same uid gives the line that is there and is recorded once."""
    line = write_line(finding.card, kind=kind, words=words or finding.words, **what)
    if not FindingLine.objects.get_or_create(finding=finding, line=line)[1]:
        return line
    told = {"number": line.number, "finding": finding.words}
    record("inspections.line_made", actor, card_id=line.card_id, vehicle_id=finding.card.vehicle_id, payload=told)
    return line


@transaction.atomic
def mend_finding(actor: Actor, finding: Finding) -> Line:
    """The line that mends a finding: the one that is there, else a draft with its words. However many ask at once, it is made and
    recorded once. Refused for a finding that was moved to another card meanwhile, and as write_line refuses."""
    locked(finding.card)
    if not Finding.objects.filter(pk=finding.pk, card=finding.card).exists():
        raise Refused("The finding was moved to another card meanwhile. Load the page again.")
    made = FindingLine.objects.filter(finding=finding).select_related("line").order_by("pk").first()
    if made:
        return made.line
    words = f"{finding.place}: {UNNAMED}" if finding.words == f"{finding.place}: {SEEN}" else finding.words
    return line_from_finding(actor, finding, words=words[:200], critical=can_hurt(finding.place))


def can_hurt(place: str) -> bool:
    """Whether work at this place is critical until somebody says otherwise: brakes, steering, wheels, suspension, towing, lifting, fuel."""
    return any(word in place.lower() for word in CAN_HURT)


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
