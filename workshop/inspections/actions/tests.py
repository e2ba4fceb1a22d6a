"""A test is a finding too: what was tested, read and expected, and what it rules out."""

import re
import uuid as uuids
from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction

from workshop.history.actions import Actor
from workshop.inspections.actions.common import on
from workshop.inspections.actions.findings import write_finding
from workshop.inspections.models import Finding, Test
from workshop.jobs.actions import Refused
from workshop.jobs.actions.common import locked_open, tell
from workshop.jobs.models import Card
from workshop.photos.models import Photo

FIGURE = re.compile(r"\d")


@transaction.atomic
def add_test(
    actor: Actor,
    card: Card,
    *,
    place: str,
    condition: str,
    tested: str,
    state: str,
    verdict: str,
    tool: str = "",
    read: Decimal | None = None,
    unit: str = "",
    read_words: str = "",
    expected: str = "",
    expected_source: str = "",
    rules_out: str = "",
    photos: Sequence[Photo] = (),
    uid: uuids.UUID | None = None,
) -> Finding:
    """A test with its finding, whose condition the person says. The same uid gives the finding that is there.

    Refused: a number without unit, nothing read, a figure that is expected without a source, a verdict about nothing expected,
    and a card that is over."""
    now = locked_open(card)
    if uid and (there := Finding.objects.filter(uid=uid).first()):
        return on(there, now)
    judged = Test.Verdict(verdict)
    said = {"unit": unit.strip(), "read_words": read_words.strip(), "expected": expected.strip(), "source": expected_source.strip()}
    for sentence in missing_in_test(read, verdict, **said).values():
        raise Refused(sentence)
    figure = f"{read:f} {unit.strip()}" if read is not None else read_words.strip()
    words = f"{tested.strip()}: {figure}, {judged.label}"
    told = {"measured": read, "unit": unit, "limit_words": expected, "limit_source": expected_source}
    finding = write_finding(actor, now, place=place, condition=condition, words=words[:200], photos=photos, uid=uid, **told)
    rest = {"tested": tested.strip(), "tool": tool.strip(), "read_words": read_words.strip(), "rules_out": rules_out.strip()}
    Test.objects.create(finding=finding, state=Test.State(state), verdict=judged, **rest)
    ruled = f". Rules out: {rest['rules_out']}" if rest["rules_out"] else ""
    tell("inspections.tested", actor, now, place=finding.place, words=words, condition=finding.get_condition_display(), ruled_out=ruled)
    return finding


def missing_in_test(read: Decimal | None, verdict: str, *, unit: str, read_words: str, expected: str, source: str) -> dict[str, str]:
    """What a test lacks, as field to sentence: a unit, something read, something expected, where its figure stands."""
    lacks = {}
    if read is not None and not unit:
        lacks["unit"] = f"{read:f} of what? Write the unit."
    if read is None and not read_words:
        lacks["read"] = "Nothing read. Write the number, or in words what you saw."
    if not expected and verdict != Test.Verdict.UNCLEAR:
        lacks["expected"] = "Compared with what? Write what is expected, or judge it unclear."
    if FIGURE.search(expected) and not source:
        lacks["expected_source"] = "A figure to compare with has a source. Write where it stands, or judge it unclear without one."
    return lacks
