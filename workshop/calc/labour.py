"""Labour with shared access: what is opened for several lines is opened, closed and charged once.

Each operation and each access step is one priced line, rounded by itself to the coin. A set costs the sum of its lines, then tax on
the total. Quote, invoice and journal use these same lines."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from workshop.calc import tax
from workshop.calc.money import ZERO, not_negative, round_to_coin

Kind = Literal["operation", "step"]


@dataclass(frozen=True)
class Operation:
    """Work on a line once access is there: minutes of its own, its parts, and the steps that must be open for it.

    A line of only words and a price is an operation of 0 minutes with the price in `parts_amount`. `any_of`: groups of steps of which
    one is enough (from above, or through the arch); they, the rate class and the tax code are for `choices`."""

    key: str
    own_minutes: int
    parts_amount: Decimal = ZERO
    needs: tuple[str, ...] = ()
    rate_class: str = "workshop"
    tax_code: str = "standard"
    any_of: tuple[tuple[str, ...], ...] = ()

    def __post_init__(self) -> None:
        _check(self.key, self.needs, own_minutes=self.own_minutes, parts_amount=self.parts_amount)


@dataclass(frozen=True)
class Step:
    """Access: minutes to open and to close, what opening or closing uses up, and the steps that must be open before it."""

    key: str
    open_minutes: int
    close_minutes: int
    needs: tuple[str, ...] = ()
    material_amount: Decimal = ZERO
    rate_class: str = "workshop"
    tax_code: str = "standard"

    def __post_init__(self) -> None:
        minutes = {"open_minutes": self.open_minutes, "close_minutes": self.close_minutes}
        _check(self.key, self.needs, **minutes, material_amount=self.material_amount)


@dataclass(frozen=True)
class PricedLine:
    """One line of a set: minutes, labour and parts in whole coins, net = labour + parts."""

    key: str
    kind: Kind
    minutes: int
    labour: Decimal
    parts: Decimal
    net: Decimal


@dataclass(frozen=True)
class SetPrice(tax.Taxed):
    """The price of a set of lines: operations as given, then the steps they need as given."""

    minutes: int
    lines: tuple[PricedLine, ...]


@dataclass(frozen=True)
class ShownPrice:
    """A line's price with tax, for reading. What a choice changes is worked out by `change`, never from this."""

    key: str
    kind: Kind
    gross: Decimal


def price_set(
    operations: Iterable[Operation], steps: Iterable[Step], accepted: Collection[str], *, rate_per_hour: Decimal, tax_rate: Decimal
) -> SetPrice:
    """Minutes, lines, net, tax and gross of the accepted operations with every step they need, each step once.

    line = round(minutes x rate / 60) + parts; net = sum of lines; tax = round(net x tax_rate), half up. Minutes whole, money in coins,
    tax_rate a fraction. Raises ValueError, by name, for unknown keys, duplicates, a circle of steps, floats and negatives.
    Formula: the house's own rule, after EN 16931 (lines rounded first, tax on their sum)."""
    work, access = _known(operations, steps)
    chosen = _chosen(work, accepted)
    needed = _with_prerequisites(access, (need for operation in chosen for need in operation.needs))
    return _priced(chosen, [step for step in access.values() if step.key in needed], rate_per_hour, tax_rate)


def needed_steps(operations: Iterable[Operation], steps: Iterable[Step], accepted: Collection[str]) -> tuple[str, ...]:
    """Keys of the steps that the accepted operations need, prerequisites with them, in the order of `steps`. Errors as `price_set`."""
    work, access = _known(operations, steps)
    needed = _with_prerequisites(access, (need for operation in _chosen(work, accepted) for need in operation.needs))
    return tuple(key for key in access if key in needed)


def users_of_step(operations: Iterable[Operation], steps: Iterable[Step], accepted: Collection[str]) -> dict[str, tuple[str, ...]]:
    """For each step that is needed: which accepted operations keep it, directly or through another step. Errors as `price_set`."""
    work, access = _known(operations, steps)
    reach = {operation.key: _with_prerequisites(access, operation.needs) for operation in _chosen(work, accepted)}
    users = {key: tuple(user for user, needed in reach.items() if key in needed) for key in access}
    return {key: keepers for key, keepers in users.items() if keepers}


def change(
    operations: Iterable[Operation],
    steps: Iterable[Step],
    accepted: Collection[str],
    key: str,
    *,
    rate_per_hour: Decimal,
    tax_rate: Decimal,
) -> Decimal:
    """What taking the line in, or leaving it out if it is accepted, does to the gross total: after less before, so "less" is negative.

    Both sets are priced anew: a shown price is never used, it may differ by a coin. Errors as `price_set`."""
    operations, steps = tuple(operations), tuple(steps)
    toggled = [other for other in accepted if other != key] if key in accepted else [*accepted, key]
    before = price_set(operations, steps, accepted, rate_per_hour=rate_per_hour, tax_rate=tax_rate)
    return price_set(operations, steps, toggled, rate_per_hour=rate_per_hour, tax_rate=tax_rate).gross - before.gross


def alone(operations: Iterable[Operation], steps: Iterable[Step], key: str, *, rate_per_hour: Decimal, tax_rate: Decimal) -> SetPrice:
    """The price of one line by itself with all the access it needs; a call-out is not in it. Errors as `price_set`."""
    return price_set(operations, steps, (key,), rate_per_hour=rate_per_hour, tax_rate=tax_rate)


def stopped_after_opening(steps: Iterable[Step], opened: Collection[str], *, rate_per_hour: Decimal, tax_rate: Decimal) -> SetPrice:
    """What is owed if everything is refused once these steps are open: opening, closing and materials, prerequisites with them.

    Agreed before the first bolt. Errors as `price_set`."""
    _, access = _known((), steps)
    needed = _with_prerequisites(access, _names(opened, "opened"))
    return _priced([], [step for step in access.values() if step.key in needed], rate_per_hour, tax_rate)


def shown_prices(price: SetPrice) -> tuple[ShownPrice, ...]:
    """Every line with its share of the set's tax by largest remainder, in the order of the lines; together exactly the set's gross."""
    shares = tax.share_tax(price.tax, [line.net for line in price.lines])
    return tuple(ShownPrice(line.key, line.kind, line.net + part) for line, part in zip(price.lines, shares, strict=True))


def shown_access(shown: Iterable[ShownPrice]) -> Decimal:
    """All steps of the shown prices as one amount with tax: "opening and closing, charged once"."""
    return sum((line.gross for line in shown if line.kind == "step"), ZERO)


def _priced(operations: Sequence[Operation], steps: Sequence[Step], rate_per_hour: Decimal, tax_rate: Decimal) -> SetPrice:
    rate = not_negative(rate_per_hour, "rate_per_hour")
    lines = [_line(o.key, "operation", o.own_minutes, o.parts_amount, rate) for o in operations]
    lines += [_line(s.key, "step", s.open_minutes + s.close_minutes, s.material_amount, rate) for s in steps]
    total = tax.from_net(sum((line.net for line in lines), ZERO), tax_rate)
    return SetPrice(total.net, total.tax, total.gross, sum(line.minutes for line in lines), tuple(lines))


def _line(key: str, kind: Kind, minutes: int, parts_amount: Decimal, rate: Decimal) -> PricedLine:
    labour, parts = round_to_coin(minutes * rate / 60), round_to_coin(parts_amount)
    return PricedLine(key, kind, minutes, labour, parts, labour + parts)


def _known(operations: Iterable[Operation], steps: Iterable[Step]) -> tuple[dict[str, Operation], dict[str, Step]]:
    work: dict[str, Operation] = {}
    for operation in operations:
        if operation.key in work:
            raise ValueError(f"There are two operations {operation.key}.")
        work[operation.key] = operation
    access: dict[str, Step] = {}
    for step in steps:
        if step.key in access:
            raise ValueError(f"There are two steps {step.key}.")
        access[step.key] = step
    wanted = [(operation.key, operation.needs) for operation in work.values()] + [(step.key, step.needs) for step in access.values()]
    for key, needs in wanted:
        for need in needs:
            if need not in access:
                raise ValueError(f"{key} needs a step {need}, which is not there.")
    _refuse_circle(access)
    return work, access


def _refuse_circle(access: dict[str, Step]) -> None:
    cleared: set[str] = set()
    for start in access:
        path: list[str] = []
        waiting = [(start, False)]
        while waiting:
            key, left = waiting.pop()
            if left:
                cleared.add(path.pop())
            elif key in path:
                raise ValueError(f"Steps go in a circle: {' needs '.join([*path[path.index(key) :], key])}.")
            elif key not in cleared:
                path.append(key)
                waiting.append((key, True))
                waiting.extend((need, False) for need in access[key].needs)


def _with_prerequisites(access: dict[str, Step], first: Iterable[str]) -> set[str]:
    needed: set[str] = set()
    waiting = list(first)
    while waiting:
        key = waiting.pop()
        if key not in access:
            raise ValueError(f"There is no step {key}.")
        if key not in needed:
            needed.add(key)
            waiting.extend(access[key].needs)
    return needed


def _chosen(work: dict[str, Operation], accepted: Collection[str]) -> list[Operation]:
    keys = _names(accepted, "accepted")
    for key in keys:
        if key not in work:
            raise ValueError(f"There is no operation {key}.")
    return [operation for operation in work.values() if operation.key in keys]


def _names(keys: Collection[str], what: str) -> set[str]:
    if isinstance(keys, str):
        raise ValueError(f"{what} is a collection of keys, not the text {keys!r}.")
    names = set(keys)
    if len(names) < len(keys):
        twice = sorted(key for key in names if list(keys).count(key) > 1)
        raise ValueError(f"{what} names {', '.join(twice)} more than once.")
    return names


def _check(key: str, needs: tuple[str, ...], **numbers: int | Decimal) -> None:
    if not isinstance(needs, tuple):
        raise ValueError(f"needs of {key} must be a tuple of step keys, not {needs!r}.")
    if len(set(needs)) < len(needs):
        raise ValueError(f"{key} needs the same step twice: {', '.join(needs)}.")
    for name, value in numbers.items():
        if type(value) is not int and name.endswith("_minutes"):
            raise ValueError(f"{name} of {key} must be whole minutes, not {value!r}.")
        not_negative(value, name, key)
