"""Lines of work and the access they need."""

import hashlib
import uuid as uuids
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max

from workshop import clock
from workshop.calc import labour
from workshop.catalogue.actions import PART, PartIn
from workshop.history.actions import Actor
from workshop.jobs import queries
from workshop.jobs.actions.common import Refused, locked, locked_open, require, tell, tell_line, write_open
from workshop.jobs.models import Card, CardStep, Hold, Line, LinePart, LineStep, StepNeeds

PLAIN_WORDS_MOST = 25
UNNAMED = "name what is done"  # of a line that was made of a finding with only a photo; it is not offered like this
TYPED = ("kind", "words", "plain_words", "if_left", "own_minutes", "fixed_amount", "fixed_reason", "critical")
CRITICAL = "Critical: each joint needs a maker's value and a tick."


@transaction.atomic
def add_step(
    actor: Actor,
    card: Card,
    *,
    words: str,
    open_minutes: int,
    close_minutes: int,
    needs: Iterable[CardStep] = (),
    material_words: str = "",
    material_amount: Decimal | int = 0,
    uid: uuids.UUID | None = None,
) -> CardStep:
    """An access step: minutes, what opening uses up (net), which steps must be open before. The same uid gives the step that is there.

    Refused when a step before it is not on this card or the steps would go in a circle.
    """
    now = locked_open(card)
    if uid and (there := CardStep.objects.filter(uid=uid).first()):
        return same_card(there, now)
    step = CardStep.objects.create(
        uid=uid or uuids.uuid4(),
        card=now,
        position=(now.steps.aggregate(last=Max("position"))["last"] or 0) + 1,
        words=words.strip(),
        open_minutes=open_minutes,
        close_minutes=close_minutes,
        material_words=material_words.strip(),
        material_amount=Decimal(material_amount),
    )
    StepNeeds.objects.bulk_create(StepNeeds(step=step, needs=same_card(need, now)) for need in needs)
    _refuse_circle(now)
    tell("jobs.step_added", actor, now, words=step.words, open_minutes=open_minutes, close_minutes=close_minutes)
    return step


def same_card[T: (CardStep, Line)](thing: T, card: Card) -> T:
    """The step or line, if it is the card's. Refused when it stands on another card."""
    if thing.card_id != card.pk:
        raise Refused(f"{thing.words} stands on another card. Make it anew on this one.")
    return thing


def _refuse_circle(card: Card) -> None:
    try:
        labour.needed_steps((), queries.steps(card), ())
    except ValueError as circle:
        raise Refused(str(circle)) from circle


def write_line(
    card: Card,
    *,
    kind: str,
    words: str,
    plain_words: str = "",
    if_left: str = "",
    own_minutes: int = 0,
    parts: Sequence[PartIn] = (),
    fixed_amount: Decimal | None = None,
    fixed_reason: str = "",
    steps: Iterable[CardStep] = (),
    critical: bool = False,
    uid: uuids.UUID | None = None,
) -> Line:
    """Writes a draft line with its parts and access; a critical one is born held. Records nothing.

    The same uid gives the line that is there."""
    now = locked_open(card)
    if uid and (there := Line.objects.filter(uid=uid).first()):
        return same_card(there, now)
    line = Line(uid=uid or uuids.uuid4(), card=now, number=(now.lines.aggregate(last=Max("number"))["last"] or 0) + 1)
    _fill(
        line,
        parts,
        steps,
        **_told(
            kind=kind,
            words=words,
            plain_words=plain_words,
            if_left=if_left,
            own_minutes=own_minutes,
            fixed_amount=fixed_amount,
            fixed_reason=fixed_reason,
            critical=critical,
        ),
    )
    return line


def add_line(actor: Actor, card: Card, **what: Any) -> Line:
    """A draft line: kind, words, plain_words, if_left, own_minutes, parts, fixed_amount (net), fixed_reason, steps, critical, uid.

    Words and a fixed amount are a whole line. Refused as write_line refuses: empty words, more than 25 plain words, a step of another card.
    """
    uid = what.get("uid")
    try:
        with transaction.atomic():
            locked(card)  # a second tap waits here, then finds the line of the first
            if uid and (there := Line.objects.filter(uid=uid).first()):
                return same_card(there, card)
            line = write_line(card, **what)
            tell_line("jobs.line_added", actor, line.card, line)
            return line
    except IntegrityError:
        if not uid or not (there := Line.objects.filter(uid=uid).first()):
            raise
        return same_card(there, card)


def seen_line(line: Line) -> str:
    """A short print of a line as it stands, with its parts and steps: a page that shows another is old. What is in hand is not in it."""
    columns = [str(getattr(line, name)) for name in TYPED]
    parts = [[str(value) for value in part] for part in LinePart.objects.filter(line=line).order_by("pk").values_list(*PART)]
    steps = sorted(LineStep.objects.filter(line=line).values_list("step_id", flat=True))
    return hashlib.sha256(repr([columns, parts, steps]).encode()).hexdigest()[:16]


@transaction.atomic
def change_line(
    actor: Actor, line: Line, *, parts: Sequence[PartIn] = (), steps: Iterable[CardStep] = (), seen: str = "", **what: Any
) -> Line:
    """Rewrites a draft line; keywords as add_line. What stands there already changes nothing.

    Refused once it was offered: what a customer has seen is followed, not changed. Refused when `seen` (of seen_line) is not what
    stands there now: somebody else changed it since the page was made.
    """
    now = locked_open(line.card)
    fresh = Line.objects.select_for_update().get(pk=line.pk)
    if fresh.answer != Line.Answer.DRAFT:
        raise Refused(f"Line {fresh.number} was shown to the customer. Add a new line instead.")
    before = seen_line(fresh)
    counts = {(part.words, part.part_number): part.in_hand for part in fresh.parts.exclude(in_hand=None)}
    fresh.parts.all().delete()
    fresh.steps.all().delete()
    what.pop("uid", None)
    defaults = {"plain_words": "", "if_left": "", "own_minutes": 0, "fixed_amount": None, "fixed_reason": "", "critical": False}
    _fill(fresh, parts, steps, **_told(**{**defaults, **what}))
    for part in fresh.parts.all() if counts else ():
        part.in_hand = counts.get((part.words, part.part_number))
        part.save(update_fields=["in_hand"])
    written = Line.objects.get(pk=fresh.pk)
    if seen_line(written) == before:
        return written
    if seen and seen != before:
        raise Refused(f"Somebody changed line {fresh.number} meanwhile. Open it again and look, then write yours.")
    tell_line("jobs.line_changed", actor, now, fresh)
    return written


def _told(
    *,
    kind: str,
    words: str,
    plain_words: str,
    if_left: str,
    own_minutes: int,
    fixed_amount: Decimal | None,
    fixed_reason: str,
    critical: bool,
) -> dict[str, Any]:
    """The columns of a line, refused where a sentence is due."""
    if not words.strip():
        raise Refused("The line has no words. Say what is done.")
    if (count := len(plain_words.split())) > PLAIN_WORDS_MOST:
        raise Refused(f"{count} words for the customer. At most {PLAIN_WORDS_MOST}: leave out what does not decide.")
    if fixed_amount is not None and own_minutes:
        raise Refused("A fixed price and minutes together count twice. Leave one empty.")
    return {
        "kind": Line.Kind(kind),
        "words": words.strip(),
        "plain_words": plain_words.strip(),
        "if_left": if_left.strip(),
        "own_minutes": own_minutes,
        "fixed_amount": fixed_amount,
        "fixed_reason": fixed_reason.strip(),
        "critical": critical,
    }


def _fill(line: Line, parts: Sequence[PartIn], steps: Iterable[CardStep], **columns: Any) -> None:
    for name, value in columns.items():
        setattr(line, name, value)
    line.save()
    LinePart.objects.bulk_create(LinePart(line=line, **part.columns()) for part in parts)
    LineStep.objects.bulk_create(LineStep(line=line, step=same_card(step, line.card)) for step in steps)
    _hold_if_critical(line)


def _hold_if_critical(line: Line) -> None:
    """A critical line fails closed: held from birth, released by the worksheets when every joint has its value and its tick."""
    born_held = line.holds.filter(by_room="worksheets", released_at=None)
    if not line.critical:
        born_held.update(released_at=clock.now(), released_by="change of the line", why="no longer critical")
    elif not born_held.exists():
        Hold.objects.create(card=line.card, line=line, stops=Hold.Stops.DONE, reason=CRITICAL, by_room="worksheets", set_at=clock.now())


@transaction.atomic
def write_answers(card: Card, answers: Mapping[int, str]) -> None:
    """Writes the answer of lines by their id, for the quotes room; records nothing. ValueError for another card's line.

    What is newly accepted opens a ready card again. Refused for an answer that cannot follow the one that stands; the same again
    changes nothing.
    """
    now = locked(card)
    wanted = {pk: Line.Answer(answer) for pk, answer in answers.items()}
    lines = list(now.lines.select_for_update().filter(pk__in=wanted))
    if len(lines) != len(wanted):
        raise ValueError(f"Not every line of {sorted(wanted)} is on card {now}.")
    for line in lines:
        if line.answer != wanted[line.pk]:
            require("answer", line.answer, wanted[line.pk])
            if wanted[line.pk] == Line.Answer.ACCEPTED:
                write_open(now)
        line.answer = wanted[line.pk]
    Line.objects.bulk_update(lines, ["answer"])
