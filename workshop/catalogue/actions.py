"""The verbs of the catalogue: keep, change, retire. What is changed here changes no card."""

import uuid as uuids
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any, Self

from django.db import transaction

from workshop import clock
from workshop.catalogue.models import Kit, KitOperation, Operation, OperationPart, OperationStep, Step, StepNeeds
from workshop.history.actions import Actor, record

EVENTS = {
    "catalogue.operation_changed": "changed in the catalogue: {words}",
    "catalogue.operation_retired": "took {words} out of the catalogue: {reason}",
    "catalogue.kit_retired": "took the kit {words} out of the catalogue: {reason}",
}
MOST_REASON = 200
PART = ("words", "amount", "cost", "quantity", "part_number", "reuse", "reuse_source", "fluid")


class Refused(ValueError):
    """A sentence for the person: what is wrong, what to do. Nothing was changed."""


@dataclass(frozen=True)
class PartIn:
    """A part as it is put on a line: net amount for the whole quantity, what it costs us, whether it goes back in and who says so.

    `fluid` is its name when it is filled once for all lines that drain it."""

    words: str
    amount: Decimal
    cost: Decimal | None = None
    quantity: Decimal | int = 1
    part_number: str = ""
    reuse: str = ""
    reuse_source: str = ""
    fluid: str = ""

    @classmethod
    def of(cls, part: Any) -> Self:
        """A part that is kept, of a line or of an operation."""
        return cls(**{name: getattr(part, name) for name in PART})

    def columns(self) -> dict[str, Any]:
        """Its columns, as lines and operations keep them."""
        return asdict(self)


def write_step(
    *, words: str, open_minutes: int, close_minutes: int, material_words: str, material_amount: Decimal, needs: Iterable[Step]
) -> Step:
    """The step of the catalogue with these words, minutes, material, its price and steps before it; made when there is none.

    Records nothing."""
    before = {step.pk for step in needs}
    alike = Step.objects.filter(words__iexact=words, open_minutes=open_minutes, close_minutes=close_minutes, retired_at=None)
    alike = alike.filter(material_words__iexact=material_words)
    for step in alike.order_by("pk").prefetch_related("needs"):
        if step.material_amount == material_amount and {need.needs_id for need in step.needs.all()} == before:
            return step
    step = Step.objects.create(
        words=words,
        open_minutes=open_minutes,
        close_minutes=close_minutes,
        material_words=material_words,
        material_amount=material_amount,
    )
    StepNeeds.objects.bulk_create(StepNeeds(step=step, needs_id=pk) for pk in sorted(before))
    return step


def write_operation(actor: Actor, *, uid: uuids.UUID | None, parts: Sequence[PartIn], steps: Sequence[Step], **columns: Any) -> Operation:
    """A new operation with its parts and steps. Records nothing: the card it came from does."""
    operation = Operation.objects.create(uid=uid or uuids.uuid4(), saved_by=actor.name[:120], saved_at=clock.now(), **columns)
    _write_parts(operation, parts)
    OperationStep.objects.bulk_create(OperationStep(operation=operation, step=step) for step in dict.fromkeys(steps))
    return operation


def write_kit(actor: Actor, words: str, operations: Iterable[Operation], uid: uuids.UUID | None = None) -> Kit:
    """A new kit of operations in their order, each once. Records nothing: the card it came from does."""
    kit = Kit.objects.create(uid=uid or uuids.uuid4(), words=words, saved_by=actor.name[:120], saved_at=clock.now())
    each = enumerate(dict.fromkeys(operations), 1)
    KitOperation.objects.bulk_create(KitOperation(kit=kit, operation=operation, position=n) for n, operation in each)
    return kit


@transaction.atomic
def change_operation(actor: Actor, operation: Operation, *, seen: int, parts: Sequence[PartIn], **columns: Any) -> Operation:
    """Words, minutes, parts, tools, consumables and what it fits. Cards keep what they have.

    `seen` is how often it was changed when the page was made. Refused when it was changed since, and once it is retired."""
    fresh = _still_kept(Operation.objects.select_for_update().get(pk=operation.pk))
    if fresh.changes != seen:
        raise Refused(f"“{fresh.words[:60]}” was changed meanwhile. Load the page again, then change it.")
    for name, value in columns.items():
        setattr(fresh, name, value)
    fresh.changes += 1
    fresh.save()
    fresh.parts.all().delete()
    _write_parts(fresh, parts)
    record("catalogue.operation_changed", actor, payload={"words": fresh.words})
    return fresh


@transaction.atomic
def retire_operation(actor: Actor, operation: Operation, reason: str) -> Operation:
    """It is offered no more; its cards and its kits keep it. A second tap changes nothing. Refused without a reason."""
    fresh = Operation.objects.select_for_update().get(pk=operation.pk)
    if _retired(fresh, reason):
        record("catalogue.operation_retired", actor, payload={"words": fresh.words, "reason": fresh.retired_reason})
    return fresh


@transaction.atomic
def retire_kit(actor: Actor, kit: Kit, reason: str) -> Kit:
    """It is offered no more. A second tap changes nothing. Refused without a reason."""
    fresh = Kit.objects.select_for_update().get(pk=kit.pk)
    if _retired(fresh, reason):
        record("catalogue.kit_retired", actor, payload={"words": fresh.words, "reason": fresh.retired_reason})
    return fresh


def _retired(kept: Operation | Kit, reason: str) -> bool:
    if kept.retired_at:
        return False
    why = " ".join(reason.split())
    if not why:
        raise Refused("No reason. Say why it is not used any more.")
    if len(why) > MOST_REASON:
        raise Refused(f"{len(why):,} characters. At most {MOST_REASON}: shorten the reason.")
    kept.retired_at, kept.retired_reason = clock.now(), why
    kept.save(update_fields=["retired_at", "retired_reason"])
    return True


def _still_kept(operation: Operation) -> Operation:
    if operation.retired_at:
        raise Refused(f"“{operation.words[:60]}” was taken out of the catalogue: {operation.retired_reason}")
    return operation


def _write_parts(operation: Operation, parts: Sequence[PartIn]) -> None:
    OperationPart.objects.bulk_create(OperationPart(operation=operation, **part.columns()) for part in parts)
