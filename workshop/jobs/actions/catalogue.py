"""From a card into the catalogue and from the catalogue onto a card: copies, never references."""

import re
import textwrap
import uuid as uuids
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from workshop.calc.kits import Item, need, topped_up
from workshop.calc.money import round_to_coin
from workshop.catalogue import actions as catalogue
from workshop.catalogue import queries as kept
from workshop.catalogue.actions import PartIn
from workshop.catalogue.models import Kit, Operation, Step
from workshop.history.actions import Actor
from workshop.jobs import queries
from workshop.jobs.actions.common import Refused, locked, locked_open, tell
from workshop.jobs.actions.lines import write_line
from workshop.jobs.models import Card, CardStep, Line, LinePart, StepNeeds

COPIED = ("kind", "words", "plain_words", "if_left", "own_minutes", "fixed_amount", "fixed_reason", "critical")
OVER = (Line.Progress.DONE, Line.Progress.CHECKED)  # what such a line filled is in use: a new drain wants a new filling


STEP = ("words", "open_minutes", "close_minutes", "material_words", "material_amount")
MOST_BRING = 189  # characters of tools, and of consumables: both with their names are the 400 of a line


@dataclass(frozen=True)
class Put:
    """What was put on a card: its lines, a sentence for each fluid that stands once, what became more on lines that were there."""

    lines: list[Line] = field(default_factory=list)
    shared: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)


@transaction.atomic
def save_operation(
    actor: Actor, line: Line, *, tools: str = "", consumables: str = "", fits: str = "", uid: uuids.UUID | None = None
) -> Operation:
    """The line as an operation for next time, with its parts and access. The same uid gives the operation that is there.

    Refused for a call-out: it is priced by its own rule."""
    card = locked(line.card)
    if uid and (there := Operation.objects.filter(uid=uid).first()):
        return there
    operation = _saved(actor, line, tools=tools, consumables=consumables, fits=fits, uid=uid)
    tell("jobs.operation_kept", actor, card, number=line.number, words=line.words)
    return operation


def _saved(actor: Actor, line: Line, uid: uuids.UUID | None = None, **more: str) -> Operation:
    if line.kind == Line.Kind.FIRST_PRICE:
        raise Refused(f"Line {line.number} is a call-out. It is priced by its own rule; keep the lines of work.")
    known: dict[int, Step] = {}
    operation = catalogue.write_operation(
        actor,
        uid=uid,
        parts=[PartIn.of(part) for part in line.parts.order_by("pk")],
        steps=[_step_of(need.step, known) for need in line.steps.select_related("step")],
        rate_class=line.rate_class,
        from_card=line.card.number or "",
        **more,
        **{name: getattr(line, name) for name in COPIED},
    )
    line.from_operation = operation
    line.save(update_fields=["from_operation"])
    return operation


def _step_of(step: CardStep, known: dict[int, Step]) -> Step:
    """The catalogue's step of a card's step: the one it was copied from, one alike, or a new one."""
    if step.pk not in known:
        before = [_step_of(need.needs, known) for need in step.needs.select_related("needs")]
        from_step = step.from_step
        if from_step is None or from_step.retired_at:
            from_step = catalogue.write_step(needs=before, **{name: getattr(step, name) for name in STEP})
            step.from_step = from_step
            step.save(update_fields=["from_step"])
        known[step.pk] = from_step
    return known[step.pk]


@transaction.atomic
def save_kit(actor: Actor, card: Card, lines: Sequence[Line], words: str, uid: uuids.UUID | None = None) -> Kit:
    """Lines of a card as a kit; those that came from no operation become one. The same uid gives the kit that is there.

    Refused without lines, without a name, for a line of another card, and for a call-out."""
    now = locked(card)
    if uid and (there := Kit.objects.filter(uid=uid).first()):
        return there
    if not lines:
        raise Refused("No line is ticked. Tick the lines that go together.")
    if not words.strip():
        raise Refused("The kit has no name. Say what it is for.")
    if any(line.card_id != now.pk for line in lines):
        raise Refused("A line stands on another card. Tick lines of this one.")
    operations = [_still(line.from_operation) or _saved(actor, line) for line in lines]
    kit = catalogue.write_kit(actor, words.strip(), operations, uid)
    tell("jobs.kit_kept", actor, now, words=kit.words, numbers=_numbers(lines))
    return kit


def _still(operation: Operation | None) -> Operation | None:
    return operation if operation and not operation.retired_at else None


def _numbers(lines: Iterable[Line]) -> str:
    return ", ".join(str(line.number) for line in lines)


@transaction.atomic
def put_operation(actor: Actor, card: Card, operation: Operation, *, uid: uuids.UUID) -> Put:
    """A draft line copied from an operation, as put_kit. Refused once the operation is retired."""
    if operation.retired_at:
        raise Refused(f"“{operation.words[:60]}” was taken out of the catalogue: {operation.retired_reason}")
    return _put(actor, card, operation.words, [operation], uid)


@transaction.atomic
def put_kit(actor: Actor, card: Card, kit: Kit, *, uid: uuids.UUID) -> Put:
    """All lines of a kit at once with one line of history: parts at the amounts of the catalogue, a step that is on the card used again,
    a fluid of the same name standing once; history names a line that was there and got more of it. The same uid gives the lines that are
    there. Operations that are retired stay out; refused when none is left, when the kit is retired, and for a card that is closed."""
    if kit.retired_at:
        raise Refused(f"The kit “{kit.words[:60]}” was taken out of the catalogue: {kit.retired_reason}")
    each = kit.operations.select_related("operation").prefetch_related("operation__parts", "operation__steps")
    if not (operations := [place.operation for place in each if not place.operation.retired_at]):
        raise Refused(f"Every operation of the kit “{kit.words[:60]}” was taken out of the catalogue.")
    return _put(actor, card, kit.words, operations, uid)


def _put(actor: Actor, card: Card, words: str, operations: Sequence[Operation], uid: uuids.UUID) -> Put:
    uids = {operation.pk: uuids.uuid5(uid, str(operation.uid)) for operation in operations}
    now = locked(card)
    if there := list(now.lines.filter(uid__in=uids.values())):
        return Put(there)
    locked_open(card)
    steps, put = _steps_on(now, operations), Put()
    for operation in operations:
        needed = [steps[need.step_id] for need in operation.steps.all()]
        parts = _once(now, _with_before(needed), [PartIn.of(part) for part in operation.parts.all()], put)
        line = write_line(now, parts=parts, steps=needed, uid=uids[operation.pk], **{name: getattr(operation, name) for name in COPIED})
        line.rate_class, line.from_operation, line.bring = operation.rate_class, operation, _bring(operation)
        line.save(update_fields=["rate_class", "from_operation", "bring"])
        put.lines.append(line)
    tell("jobs.put_on", actor, now, words=words, numbers="; ".join([_numbers(put.lines), *put.changed]))
    return put


def _bring(operation: Operation) -> str:
    """Tools and consumables as a line keeps them, parted by the only semicolon; what is too long ends between two words with …"""
    named = {"tools": operation.tools, "consumables": operation.consumables}
    kept = {name: textwrap.shorten(what.replace(";", ","), MOST_BRING, placeholder=" …") for name, what in named.items()}
    return "; ".join(f"{name}: {what}" for name, what in kept.items() if what)


def _steps_on(card: Card, operations: Sequence[Operation]) -> dict[int, CardStep]:
    """The catalogue's steps that the operations need, with those before them, as steps of the card: used again or copied.

    A step that came from no catalogue is the same by words, minutes and material: access to it is charged once."""
    on_card = list(card.steps.order_by("-position"))
    there = {step.from_step_id: step for step in on_card if step.from_step_id}
    own = {_alike(step): step for step in on_card if not step.from_step_id}
    all_steps = kept.all_steps()
    last = card.steps.aggregate(last=Max("position"))["last"] or 0

    def put(pk: int) -> CardStep:
        nonlocal last
        if pk in there:
            return there[pk]
        step = all_steps[pk]
        if same := own.get(_alike(step)):
            there[pk] = same
            return same
        before = [put(need.needs_id) for need in step.needs.all()]
        last += 1
        copied = {name: getattr(step, name) for name in STEP}
        there[pk] = CardStep.objects.create(card=card, position=last, from_step=step, **copied)
        StepNeeds.objects.bulk_create(StepNeeds(step=there[pk], needs=need) for need in before)
        return there[pk]

    return {need.step_id: put(need.step_id) for operation in operations for need in operation.steps.all()}


def _alike(step: Step | CardStep) -> tuple[object, ...]:
    values = [getattr(step, name) for name in STEP]
    return tuple(value.casefold() if isinstance(value, str) else value for value in values)


def _with_before(steps: Iterable[CardStep]) -> list[CardStep]:
    """Steps with all that must be open before them."""
    found: dict[int, CardStep] = {}
    waiting = list(steps)
    while waiting:
        step = waiting.pop()
        if step.pk not in found:
            found[step.pk] = step
            waiting += [need.needs for need in step.needs.select_related("needs")]
    return list(found.values())


def _once(card: Card, steps: Sequence[CardStep], parts: Sequence[PartIn], put: Put) -> list[PartIn]:
    """The parts without what stands on the card already under the same name of a fluid; `put` gets a sentence for each."""
    needed = need([[Item(part.words, Decimal(part.quantity), part.fluid) for part in parts if part.fluid]])
    by_name = {name.casefold(): (name, quantity) for name, quantity in needed.items()}
    left = list[PartIn]()
    for part in parts:
        if not part.fluid:
            left.append(part)
        elif found := by_name.pop(part.fluid.casefold(), None):  # all cans of it at the first one
            cans = [can for can in parts if can.fluid.casefold() == part.fluid.casefold()]
            left += _of_fluid(card, steps, cans, *found, put)
    return left


def _of_fluid(card: Card, steps: Sequence[CardStep], cans: list[PartIn], name: str, needed: Decimal, put: Put) -> list[PartIn]:  # noqa: PLR0917
    step = next((step for step in steps if _holds(step.material_words, name)), None)
    if step is None:
        return _beside(card, cans, needed, put)
    put.shared.append(f"{name} stands once, in the access step {step.words}. This work needs {_figure(needed)}.")
    return []


def _holds(material: str, fluid: str) -> bool:
    """Whether the material of a step names this fluid: alone, in a list or with a quantity behind it. "Oil seal" is no oil."""
    named = re.compile(rf"\s*{re.escape(fluid)}\s*(\s\d.*)?", re.IGNORECASE)
    return any(named.fullmatch(one) for one in material.split(","))


def _beside(card: Card, cans: list[PartIn], needed: Decimal, put: Put) -> list[PartIn]:
    """What of a fluid must still be put on a line: all its cans, the rest, or nothing. A draft line is filled up to the most."""
    live = LinePart.objects.filter(line__card=card, line__answer__in=queries.LIVE, fluid__iexact=cans[0].fluid)
    there = list(live.exclude(line__progress__in=OVER).select_related("line").order_by("line__number", "pk"))
    if not there:
        return cans
    first, held = there[0], sum((one.quantity for one in there), Decimal(0))
    number, part = first.line.number, _rest(cans, needed, topped_up(held, needed))
    if part.quantity and first.line.answer != Line.Answer.DRAFT:
        put.shared.append(f"{part.fluid} is on line {number}, which was offered: here is only the {_figure(part.quantity)} more.")
        return [part]
    if part.quantity:
        _fill_up(first, part)
        if all(line.pk != first.line_id for line in put.lines):
            was = _figure(first.quantity - part.quantity)
            put.changed.append(f"{part.fluid} on line {number} from {was} to {_figure(first.quantity)}")
    whole = _figure(max(held, needed))
    put.shared.append(f"{part.fluid} stands once, {whole} on line {number}. If line {number} goes, put it on another line.")
    return []


def _rest(cans: list[PartIn], needed: Decimal, missing: Decimal) -> PartIn:
    """So much of a fluid at the price of its cans together; what it costs us only when every can says so."""
    share = missing / needed if needed else Decimal(0)
    costs = [can.cost for can in cans if can.cost is not None]
    cost = round_to_coin(sum(costs, Decimal(0)) * share) if len(costs) == len(cans) else None
    return replace(cans[0], quantity=missing, amount=round_to_coin(sum((can.amount for can in cans), Decimal(0)) * share), cost=cost)


def _fill_up(first: LinePart, part: PartIn) -> None:
    first.amount += part.amount
    if first.cost is not None and part.cost is not None:
        first.cost += part.cost
    first.quantity += part.quantity
    first.save(update_fields=["quantity", "amount", "cost"])


def _figure(quantity: Decimal | int) -> str:
    return f"{Decimal(quantity).normalize():f}"
