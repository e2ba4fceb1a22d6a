"""The price of any choice of lines of a whole job: shared access counted once, ways that are chosen, lines that touch each other,
and what was opened so far.

Each operation and each opening is one priced line, rounded by itself to the coin; a set costs the sum of its lines, then tax on the
sum of each code. What lines do to each other is data: who includes, requires or excludes whom, and which pair takes longer or
shorter together. The laws hold on money before it is rounded: a line more never makes the job cheaper."""

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import product
from typing import Literal

from workshop.calc import labour, tax
from workshop.calc.labour import Operation, Step
from workshop.calc.money import ZERO, exact, not_negative, round_to_coin

RelationKind = Literal["includes", "requires", "excludes", "supersedes", "advised"]
State = Literal["open", "closing", "closed"]
KINDS = ("includes", "requires", "excludes", "supersedes", "advised")
MOST_WAYS = 6  # groups of ways that nobody has pinned


@dataclass(frozen=True)
class Relation:
    """What the first line does to the second: includes it (the second costs nothing beside it), requires it, excludes it (pick one),
    supersedes it (the second is sold only inside the first), or advises it (it is asked about)."""

    kind: RelationKind
    first: str
    second: str
    reason: str = ""


@dataclass(frozen=True)
class Adjust:
    """Two lines together take this many minutes more, or fewer (negative), than each by itself; charged on the second."""

    first: str
    second: str
    minutes: int
    reason: str


@dataclass(frozen=True)
class Opening:
    """A step that was opened: open, closing or closed again, and the lines that it served until closing began. `free`: our fault."""

    step: str
    state: State
    lines: tuple[str, ...] = ()
    free: bool = False


@dataclass(frozen=True)
class Job:
    """All that the price of a choice needs. Money in coins; `rates` per hour by class, `taxes` as fractions by code. `pins`: the step
    that was fixed for a group of ways, by (operation, number of the group). `call_out_net` is what coming again costs."""

    operations: tuple[Operation, ...]
    steps: tuple[Step, ...]
    rates: Mapping[str, Decimal]
    taxes: Mapping[str, Decimal]
    relations: tuple[Relation, ...] = ()
    adjusts: tuple[Adjust, ...] = ()
    openings: tuple[Opening, ...] = ()
    pins: Mapping[tuple[str, int], str] = field(default_factory=dict)
    call_out_net: Decimal = ZERO

    def __post_init__(self) -> None:
        labour.needed_steps(self.operations, self.steps, ())  # refuses circles, duplicates and strays by name
        _refuse_unpriced(self)
        _refuse_strays(self)
        _refuse_cheaper_together(self)

    @property
    def work(self) -> dict[str, Operation]:
        """The operations by key."""
        return {operation.key: operation for operation in self.operations}

    @property
    def access(self) -> dict[str, Step]:
        """The steps by key."""
        return {step.key: step for step in self.steps}


@dataclass(frozen=True)
class PricedLine:
    """An operation, or one opening of a step. `times` numbers the openings of a step from 1; `inside` names the line that includes it."""

    key: str
    kind: labour.Kind
    minutes: int
    labour: Decimal
    parts: Decimal
    net: Decimal
    rate_class: str
    tax_code: str
    users: tuple[str, ...] = ()
    times: int = 1
    inside: str = ""


@dataclass(frozen=True)
class Price(tax.Taxed):
    """The price of a choice: its lines, minutes, tax by code, net by rate class, and the way that was taken for each group."""

    minutes: int
    lines: tuple[PricedLine, ...]
    codes: tuple[tax.CodeTotal, ...]
    ways: Mapping[tuple[str, int], str]

    @property
    def parts(self) -> Decimal:
        """Net of the parts of the lines."""
        return sum((line.parts for line in self.lines if line.kind == "operation"), ZERO)

    @property
    def materials(self) -> Decimal:
        """Net of what opening and closing uses up."""
        return sum((line.parts for line in self.lines if line.kind == "step"), ZERO)

    @property
    def net_by_class(self) -> dict[str, Decimal]:
        """Net of the labour by rate class."""
        classes = dict.fromkeys(line.rate_class for line in self.lines)
        return {name: sum((line.labour for line in self.lines if line.rate_class == name), ZERO) for name in classes}


@dataclass(frozen=True)
class Problem:
    """Why a choice cannot be ordered as it is, as data: the sentence is made where it is shown."""

    kind: Literal["requires", "excludes", "supersedes", "advised"]
    line: str
    other: str
    reason: str = ""


def price(job: Job, accepted: Collection[str]) -> Price:
    """The price of the accepted operations with every step that they need, opened once for all; what was opened and closed before is
    in it, whoever is declined now. Of ways that are not pinned the cheapest set is taken; equal ones go to the earlier way.

    ValueError, by name, for an unknown or doubled key and for more than six groups of ways that are not pinned. Formula: the house's
    own rule after EN 16931 (lines rounded first, tax on their sum by code)."""
    chosen = _chosen(job, accepted)
    return min((_priced(job, chosen, ways) for ways in _ways(job, chosen)), key=lambda found: (found.net, found.minutes))


def saves(job: Job, accepted: Collection[str], key: str) -> Decimal:
    """What the whole, with tax, is less without this accepted line: two sets priced anew. Errors as `price`, and for a line not in it."""
    if key not in accepted:
        raise ValueError(f"{key} is not accepted: it has nothing to save.")
    return price(job, accepted).gross - price(job, [other for other in accepted if other != key]).gross


def later(job: Job, key: str) -> Decimal:
    """What the line costs by itself another day, with tax and the call-out, each taxed by itself: everything is closed then."""
    alone = price(_closed(job), [key])
    code = job.work[key].tax_code
    return alone.gross + tax.from_net(job.call_out_net, job.taxes[code]).gross


def stopped(job: Job, opened: Collection[str]) -> Price:
    """What is owed if nothing is ordered once these steps are open: opening, closing and what is used up, those before them with them.

    It is said before the first bolt. Errors as `price`."""
    needed = labour.needed_steps([Operation("", 0, needs=tuple(opened))], job.steps, [""])
    return price(_with_openings(job, (Opening(step, "open") for step in needed)), [])


def problems(job: Job, accepted: Collection[str], answered: Collection[tuple[str, str]] = ()) -> tuple[Problem, ...]:
    """What stands against ordering this choice, in the order of the relations; empty when it can be ordered.

    `answered`: pairs (line, advised line) that were asked and answered otherwise than by ordering it. Errors as `price`."""
    _chosen(job, accepted)
    return tuple(problem for relation in job.relations if (problem := _against(relation, set(accepted), set(answered))))


def _against(relation: Relation, accepted: set[str], answered: set[tuple[str, str]]) -> Problem | None:
    first, second = relation.first, relation.second
    if relation.kind == "requires" and first in accepted and second not in accepted:
        return Problem("requires", first, second, relation.reason)
    if relation.kind == "excludes" and {first, second} <= accepted:
        return Problem("excludes", first, second, relation.reason)
    if relation.kind == "supersedes" and second in accepted:
        return Problem("supersedes", second, first, relation.reason)
    if relation.kind == "advised" and first in accepted and second not in accepted and (first, second) not in answered:
        return Problem("advised", first, second, relation.reason)
    return None


@dataclass(frozen=True)
class Shared:
    """Openings that the same lines keep: charged once, there as long as one of `users` is ordered. No users: it was opened before."""

    users: tuple[str, ...]
    steps: tuple[str, ...]
    minutes: int
    net: Decimal


def explained(priced: Price) -> tuple[Shared, ...]:
    """Which openings stay as long as one of which lines is ordered, as data, in the order of the steps."""
    together: dict[tuple[str, ...], list[PricedLine]] = {}
    for line in priced.lines:
        if line.kind == "step":
            together.setdefault(line.users, []).append(line)
    return tuple(
        Shared(users, tuple(line.key for line in lines), sum(line.minutes for line in lines), sum((line.net for line in lines), ZERO))
        for users, lines in together.items()
    )


def _chosen(job: Job, accepted: Collection[str]) -> list[Operation]:
    if isinstance(accepted, str):
        raise ValueError(f"accepted is a collection of keys, not the text {accepted!r}.")
    if twice := [key for key, count in Counter(accepted).items() if count > 1]:
        raise ValueError(f"accepted names {', '.join(twice)} more than once.")
    if unknown := [key for key in accepted if key not in job.work]:
        raise ValueError(f"There is no operation {', '.join(unknown)}.")
    return [operation for operation in job.operations if operation.key in set(accepted)]


def _ways(job: Job, chosen: Iterable[Operation]) -> Iterator[dict[tuple[str, int], str]]:
    groups = {(operation.key, number): group for operation in chosen for number, group in enumerate(operation.any_of)}
    free = [place for place in groups if place not in job.pins]
    if len(free) > MOST_WAYS:
        raise ValueError(f"{len(free)} ways are open. At most {MOST_WAYS}: pin the others.")
    pinned = {place: job.pins[place] for place in groups if place in job.pins}
    for taken in product(*(groups[place] for place in free)):
        yield pinned | dict(zip(free, taken, strict=True))


def _priced(job: Job, chosen: list[Operation], ways: dict[tuple[str, int], str]) -> Price:
    needs = {operation.key: (*operation.needs, *(step for (key, _), step in ways.items() if key == operation.key)) for operation in chosen}
    plain = [Operation(key, 0, needs=tuple(dict.fromkeys(steps))) for key, steps in needs.items()]
    users = labour.users_of_step(plain, job.steps, [operation.key for operation in plain])
    lines = [*_operations(job, chosen), *_openings(job, users)]
    total = tax.document(tax.Line(line.net, line.tax_code, job.taxes[line.tax_code]) for line in lines)
    return Price(total.net, total.tax, total.gross, sum(line.minutes for line in lines), tuple(lines), total.codes, ways)


def _operations(job: Job, chosen: list[Operation]) -> Iterator[PricedLine]:
    accepted = {operation.key for operation in chosen}
    inside = {r.second: r.first for r in job.relations if r.kind == "includes" and {r.first, r.second} <= accepted}
    together = Counter(dict.fromkeys(accepted, 0))
    for adjust in job.adjusts:
        if {adjust.first, adjust.second} <= accepted:
            together[adjust.second] += adjust.minutes
    for operation in chosen:
        if operation.key in inside:
            yield PricedLine(
                operation.key, "operation", 0, ZERO, ZERO, ZERO, operation.rate_class, operation.tax_code, inside=inside[operation.key]
            )
        else:
            minutes = operation.own_minutes + together[operation.key]
            yield _line(job, operation, "operation", minutes, operation.parts_amount)


def _openings(job: Job, users: Mapping[str, tuple[str, ...]]) -> Iterator[PricedLine]:
    """What was opened before, then what must be opened for lines that no opening served or still can."""
    for step in job.steps:
        minutes, times, waiting = step.open_minutes + step.close_minutes, 0, list(users.get(step.key, ()))
        for opening in (opening for opening in job.openings if opening.step == step.key):
            served = waiting if opening.state == "open" else [user for user in waiting if user in opening.lines]
            waiting = [user for user in waiting if user not in served]
            times += 1
            if not opening.free:
                yield _line(job, step, "step", minutes, step.material_amount, users=tuple(served), times=times)
        if waiting:
            yield _line(job, step, "step", minutes, step.material_amount, users=tuple(waiting), times=times + 1)


def _line(
    job: Job, thing: Operation | Step, kind: labour.Kind, minutes: int, parts: Decimal, *, users: tuple[str, ...] = (), times: int = 1
) -> PricedLine:
    worked, used = round_to_coin(minutes * job.rates[thing.rate_class] / 60), round_to_coin(parts)
    return PricedLine(thing.key, kind, minutes, worked, used, worked + used, thing.rate_class, thing.tax_code, users, times)


def _closed(job: Job) -> Job:
    return _with_openings(job, ())


def _with_openings(job: Job, openings: Iterable[Opening]) -> Job:
    return Job(job.operations, job.steps, job.rates, job.taxes, job.relations, job.adjusts, tuple(openings), job.pins, job.call_out_net)


def _refuse_unpriced(job: Job) -> None:
    for name, rate in job.rates.items():
        not_negative(rate, f"the rate {name}")
    for rate in job.taxes.values():
        tax.require_rate(rate)
    not_negative(job.call_out_net, "call_out_net")
    things: list[Operation | Step] = [*job.operations, *job.steps]
    for thing in things:
        if thing.rate_class not in job.rates:
            raise ValueError(f"{thing.key} has the rate class {thing.rate_class}, which has no rate.")
        if thing.tax_code not in job.taxes:
            raise ValueError(f"{thing.key} has the tax code {thing.tax_code}, which has no rate.")


def _refuse_strays(job: Job) -> None:
    """Every name that a relation, an adjustment, a way, a pin or an opening uses is there."""
    pairs: list[Relation | Adjust] = [*job.relations, *job.adjusts]
    for pair in pairs:
        if unknown := [key for key in (pair.first, pair.second) if key not in job.work]:
            raise ValueError(f"There is no operation {unknown[0]}.")
        if pair.first == pair.second:
            raise ValueError(f"{pair.first} cannot stand in relation to itself.")
    if wrong := [relation.kind for relation in job.relations if relation.kind not in KINDS]:
        raise ValueError(f"Lines include, require, exclude, supersede or advise each other; {wrong[0]!r} is none of these.")
    ways = {(operation.key, number): group for operation in job.operations for number, group in enumerate(operation.any_of)}
    for (key, number), group in ways.items():
        if not group or (stray := [step for step in group if step not in job.access]):
            raise ValueError(f"Way {number + 1} of {key} names {stray[0] if group else 'no step'}, which is not there.")
    for place, step in job.pins.items():
        if step not in ways.get(place, ()):
            raise ValueError(f"{step} is pinned for {place[0]} and is none of its ways.")
    if unknown := [opening.step for opening in job.openings if opening.step not in job.access]:
        raise ValueError(f"There is no step {unknown[0]}.")
    open_now = Counter(opening.step for opening in job.openings if opening.state == "open")
    if twice := [step for step, count in open_now.items() if count > 1]:
        raise ValueError(f"{twice[0]} is open twice.")


def _refuse_cheaper_together(job: Job) -> None:
    """No line may make a job cheaper: what it takes off others is never more than it costs by itself."""
    for adjust in job.adjusts:
        exact(adjust.minutes, f"minutes of {adjust.first} with {adjust.second}")
        if job.work[adjust.first].rate_class != job.work[adjust.second].rate_class:
            raise ValueError(f"{adjust.first} and {adjust.second} have different rates: minutes cannot be set off between them.")
    for operation in job.operations:
        less = -sum(a.minutes for a in job.adjusts if a.minutes < 0 and operation.key in (a.first, a.second))
        inside = [job.work[r.second] for r in job.relations if r.kind == "includes" and r.first == operation.key]
        if less > operation.own_minutes:
            raise ValueError(f"{operation.key} takes {less} min off with others and has {operation.own_minutes} of its own.")
        if any(other.rate_class != operation.rate_class or other.tax_code != operation.tax_code for other in inside):
            raise ValueError(f"{operation.key} and what it includes have one rate class and one tax code.")
        if sum(other.own_minutes for other in inside) + less > operation.own_minutes or (
            sum((other.parts_amount for other in inside), ZERO) > operation.parts_amount
        ):
            raise ValueError(f"{operation.key} costs less than what it includes.")
    held = [r.second for r in job.relations if r.kind == "includes"]
    busy = {r.first for r in job.relations if r.kind == "includes"} | {key for a in job.adjusts for key in (a.first, a.second)}
    if wrong := [key for key, count in Counter(held).items() if count > 1 or key in busy]:
        raise ValueError(f"{wrong[0]} is included by one line; it includes none and is adjusted with none.")
