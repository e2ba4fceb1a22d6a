"""Read the catalogue: what is found by words, what an operation takes and costs by itself today."""

import uuid as uuids
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Model, Q, QuerySet

from workshop import clock
from workshop.calc import labour
from workshop.calc.kits import Item, need, topped_up
from workshop.calc.money import round_to_coin
from workshop.catalogue.models import Kit, Operation, Step
from workshop.company import queries as company

MOST_SHOWN = 50


def _found[M: Model](rows: QuerySet[M], words: str, *columns: str) -> QuerySet[M]:
    """Rows that hold each of the words in one of the columns. A catalogue has some hundred rows, so it is read through."""
    for word in words.split()[:8]:
        held = Q()
        for column in columns:
            held |= Q(**{f"{column}__icontains": word})
        rows = rows.filter(held)
    return rows


def operations(words: str = "", *, retired: bool = False) -> QuerySet[Operation]:
    """Operations that carry the words, by name, with parts and steps: three queries however many there are."""
    rows = Operation.objects.filter(retired_at__isnull=not retired).prefetch_related("parts", "steps")
    return _found(rows, words, "words", "fits", "plain_words").order_by("words", "pk")


def kits(words: str = "", *, retired: bool = False) -> QuerySet[Kit]:
    """Kits that carry the words, by name, with their operations."""
    rows = Kit.objects.filter(retired_at__isnull=not retired)
    rows = rows.prefetch_related("operations__operation__parts", "operations__operation__steps")
    return _found(rows, words, "words").order_by("words", "pk")


def operation(uid: uuids.UUID) -> Operation | None:
    """The operation with its parts and steps, or None."""
    return Operation.objects.filter(uid=uid).prefetch_related("parts", "steps__step__needs__needs").first()


def kit(uid: uuids.UUID) -> Kit | None:
    """The kit with its operations, or None."""
    return Kit.objects.filter(uid=uid).prefetch_related("operations__operation__parts", "operations__operation__steps").first()


def all_steps() -> dict[int, Step]:
    """Every step of the catalogue by its id, with what must be open before it. Two queries."""
    return {step.pk: step for step in Step.objects.prefetch_related("needs")}


@dataclass(frozen=True)
class Alone:
    """What operations take and cost together, with nothing else on the card: minutes of work, of opening and closing, net."""

    own_minutes: int
    access_minutes: int
    net_amount: Decimal | None  # None: no hourly rate is set


def alone(kept: Iterable[Operation], steps: dict[int, Step], rate: Decimal | None) -> Alone:
    """The price by calc.labour at an hourly rate, access included and once. Fluids that are shared count once, the most that is needed."""
    chosen, there = list(kept), dict[str, Decimal]()
    work = []
    for operation in chosen:
        parts = _parts_amount(operation, there)
        needs = tuple(str(need.step_id) for need in operation.steps.all())
        fixed = operation.fixed_amount
        minutes = 0 if fixed is not None else operation.own_minutes
        work.append(labour.Operation(str(operation.pk), minutes, fixed if fixed is not None else parts, needs))
    access = [
        labour.Step(
            str(step.pk),
            step.open_minutes,
            step.close_minutes,
            tuple(str(need.needs_id) for need in step.needs.all()),
            step.material_amount,
        )
        for step in steps.values()
    ]
    priced = labour.price_set(work, access, [one.key for one in work], rate_per_hour=rate or Decimal(0), tax_rate=Decimal(0))
    own = sum(one.own_minutes for one in work)
    return Alone(own, priced.minutes - own, priced.net if rate is not None else None)


def _parts_amount(operation: Operation, there: dict[str, Decimal]) -> Decimal:
    """What its parts cost beside the fluids that are there, by name and quantity: of each fluid only what is missing is added to them."""
    rows = list(operation.parts.all())
    amount = sum((part.amount for part in rows if not part.fluid), Decimal(0))
    fluids = need([[Item(part.words, part.quantity, part.fluid) for part in rows if part.fluid]])
    for name, needed in fluids.items():
        key = name.casefold()
        whole = sum((part.amount for part in rows if part.fluid.casefold() == key), Decimal(0))
        missing = topped_up(there.get(key, Decimal(0)), needed)
        amount += whole if key not in there else round_to_coin(whole * missing / needed) if needed else Decimal(0)
        there[key] = max(needed, there.get(key, Decimal(0)))
    return amount


def rate_today() -> Decimal | None:
    """What an hour costs today, net; None when the owner has set none."""
    try:
        return company.rate_on("workshop", clock.today())
    except LookupError:
        return None
