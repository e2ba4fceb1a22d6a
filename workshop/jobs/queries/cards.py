"""Read job cards, lines and their prices."""

import uuid as uuids
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Exists, F, OuterRef, Prefetch, QuerySet, StringAgg, Subquery, Sum, Value
from django.db.models.functions import Coalesce, NullIf

from workshop import clock
from workshop.calc import labour
from workshop.calc.money import ZERO
from workshop.company import queries as company
from workshop.company.models import Company, Rate, TaxRate
from workshop.customers.models import Approver
from workshop.jobs.models import Card, CardStep, Complaint, Episode, Hold, Leaving, Line, LinePart, LineStep, Role, Spell, StepNeeds
from workshop.vehicles.queries import last_value

LIVE = frozenset({Line.Answer.DRAFT, Line.Answer.OFFERED, Line.Answer.ACCEPTED})  # what is or may still be ordered
LINE_STEPS = Prefetch("steps", LineStep.objects.select_related("step"))
_NEEDS = Prefetch("needs", StepNeeds.objects.select_related("needs"))


def card(pk: int) -> Card | None:
    """The card with its vehicle, or None. One query."""
    return Card.objects.select_related("vehicle").filter(pk=pk).first()


def line(uid: uuids.UUID) -> Line | None:
    """The line with its card, or None."""
    return Line.objects.select_related("card__vehicle").filter(uid=uid).first()


def complaint(uid: uuids.UUID) -> Complaint | None:
    """The complaint with its card, or None."""
    return Complaint.objects.select_related("card__vehicle").filter(uid=uid).first()


def left(what: str, card: str = "pk") -> Subquery:
    """For an annotation: a column of how the card's vehicle is left now (left_at, state, …); `card` names the way to the card."""
    return Subquery(Leaving.objects.filter(card=OuterRef(card), back_at=None).values(what)[:1])


def at_work(ours: str, line: str = "pk") -> Subquery:
    """For an annotation: the first names of those whose clock runs: on a line (`line__pk`), or on any line of a card (`line__card`).
    `ours` is that path of a spell, `line` the way to it."""
    named = Coalesce(NullIf("person__first_name", Value("")), F("person__username"))
    running = Spell.objects.filter(stopped_at=None, **{ours: OuterRef(line)}).order_by().values(ours)
    return Subquery(running.annotate(names=StringAgg(named, Value(", "), order_by="started_at")).values("names")[:1])


def since(ours: str, line: str = "pk") -> Subquery:
    """For an annotation: when the first of those clocks started."""
    running = Spell.objects.filter(stopped_at=None, **{ours: OuterRef(line)}).order_by("started_at")
    return Subquery(running.values("started_at")[:1])


def lines_of(card: Card) -> QuerySet[Line]:
    """The card's lines in order, each with its parts' sum and its access: in two queries."""
    return card.lines.annotate(parts_net=Sum("parts__amount")).order_by("number").prefetch_related(LINE_STEPS)  # a sum drops the order


def steps_of(card: Card) -> QuerySet[CardStep]:
    """The card's access steps in order, each with what must be open before."""
    return card.steps.prefetch_related(_NEEDS)


def open_holds(card: Card) -> QuerySet[Hold]:
    """What must be cleared first, oldest first."""
    return card.holds.filter(released_at=None).select_related("line").order_by("set_at", "pk")


def card_page(pk: int) -> Card | None:
    """The card as its page shows it, or None: vehicle, meters (km, hours), words, people, lines, steps, open holds, notes,
    and the rate and tax of today.

    Nine queries, however many lines it has."""
    limit = Approver.objects.filter(payer=OuterRef("party"), contact=OuterRef("contact")).order_by("rank").values("limit_gross")[:1]
    roles = Role.objects.select_related("party", "contact").annotate(limit_gross=Subquery(limit))
    day = clock.today()
    rates = Rate.objects.filter(rate_class="workshop", from_on__lte=day).order_by("-from_on").values("hour_amount")[:1]
    taxes = TaxRate.objects.filter(code="standard", from_on__lte=day).order_by("-from_on").values("rate")[:1]
    found = Card.objects.select_related("vehicle").annotate(
        rate_today=Subquery(rates),
        tax_today=Subquery(taxes),
        km=last_value("km"),
        hours=last_value("h"),
        currency=Subquery(Company.objects.values("currency")[:1]),
        left_at=left("left_at"),
        left_state=left("state"),
    )
    waits = Exists(LinePart.objects.filter(line=OuterRef("pk"), in_hand__lt=F("quantity")))
    worked = Line.objects.annotate(parts_net=Sum("parts__amount"), at_work=at_work("line__pk"), since=since("line__pk"), waits=waits)
    gaping = Exists(Episode.objects.filter(step=OuterRef("pk"), closed_at=None))
    return (
        found.prefetch_related(
            Prefetch("complaints", Complaint.objects.order_by("pk")),
            Prefetch("roles", roles),
            Prefetch("lines", worked.order_by("number").prefetch_related(LINE_STEPS)),
            Prefetch("steps", CardStep.objects.annotate(gaping=gaping).prefetch_related(_NEEDS)),
            Prefetch("holds", Hold.objects.filter(released_at=None).select_related("line").order_by("set_at", "pk"), to_attr="held"),
            "notes",
        )
        .filter(pk=pk)
        .first()
    )


def line_key(line: Line) -> str:
    """The line's name in calc: line-3."""
    return f"line-{line.number}"


def step_key(step: CardStep) -> str:
    """The step's name in calc: step-2."""
    return f"step-{step.position}"


def operations(lines: Iterable[Line]) -> list[labour.Operation]:
    """The lines for calc.labour. A fixed price is an operation of no minutes with the price as its parts."""
    return [_operation(line) for line in lines]


def _operation(line: Line) -> labour.Operation:
    needs = tuple(step_key(need.step) for need in line.steps.all())
    if line.fixed_amount is not None:
        return labour.Operation(line_key(line), 0, line.fixed_amount, needs)
    return labour.Operation(line_key(line), line.own_minutes, parts_net(line), needs)


def parts_net(line: Line) -> Decimal:
    """The net of the line's parts: as lines_of summed it, else summed now."""
    if "parts_net" in line.__dict__:
        return line.__dict__["parts_net"] or ZERO
    return sum((part.amount for part in line.parts.all()), ZERO)


def steps(card: Card) -> list[labour.Step]:
    """The card's access steps for calc.labour."""
    return [calc_step(step) for step in _card_steps(card)]


def _card_steps(card: Card) -> Iterable[CardStep]:
    return card.steps.all() if _fetched(card, "steps") else steps_of(card)


def _fetched(card: Card, name: str) -> bool:
    return name in getattr(card, "_prefetched_objects_cache", {})


def calc_step(step: CardStep) -> labour.Step:
    """One access step for calc.labour."""
    needs = tuple(step_key(need.needs) for need in step.needs.all())
    return labour.Step(step_key(step), step.open_minutes, step.close_minutes, needs, step.material_amount)


@dataclass(frozen=True)
class SharedAccess:
    """Opening and closing that the same lines use, charged once."""

    lines: tuple[int, ...]
    words: tuple[str, ...]
    minutes: int
    net: Decimal

    @property
    def users(self) -> str:
        """The lines as the dashed box names them: 1+2, 1–4, or + when they do not fit in it (then `all_users` tells)."""
        first, last = self.lines[0], self.lines[-1]
        if len(self.lines) > 2 and last - first == len(self.lines) - 1:
            return f"{first}–{last}"
        return self.all_users if len(self.all_users) <= 4 else "+"

    @property
    def all_users(self) -> str:
        """Every line that uses it: 1+3+6."""
        return "+".join(map(str, self.lines))


@dataclass(frozen=True)
class Priced:
    """A card's prices today: each line alone without access, what is or may be ordered, what is ordered, and the access of both."""

    nets: dict[int, Decimal]  # line number to net
    live: labour.SetPrice
    ordered: labour.SetPrice
    access: tuple[SharedAccess, ...]


def _rate_and_tax(card: Card) -> tuple[Decimal, Decimal]:
    day, along = clock.today(), card.__dict__
    rate, tax = along.get("rate_today"), along.get("tax_today")
    return (
        company.rate_on("workshop", day) if rate is None else rate,
        company.tax_rate_on("standard", day) if tax is None else tax,
    )


def priced(card: Card) -> Priced:
    """Prices by calc.labour at the rate and tax of today. Raises LookupError, with a sentence, when no rate or tax is set.

    Two queries for rate and tax; none when the card comes from card_page, which brings them along.
    """
    rate, tax = _rate_and_tax(card)
    lines, card_steps = list(card.lines.all() if _fetched(card, "lines") else lines_of(card)), list(_card_steps(card))
    work, access = operations(lines), [calc_step(step) for step in card_steps]
    live = [line_key(line) for line in lines if line.answer in LIVE]
    ordered = [line_key(line) for line in lines if line.answer == Line.Answer.ACCEPTED]
    alone = labour.price_set(work, access, [op.key for op in work], rate_per_hour=rate, tax_rate=tax)
    live_price = labour.price_set(work, access, live, rate_per_hour=rate, tax_rate=tax)
    return Priced(
        nets={line.number: priced_line.net for line, priced_line in zip(lines, alone.lines, strict=False)},
        live=live_price,
        ordered=labour.price_set(work, access, ordered, rate_per_hour=rate, tax_rate=tax),
        access=_shared(live_price, labour.users_of_step(work, access, live), card_steps),
    )


def _shared(price: labour.SetPrice, users: dict[str, tuple[str, ...]], steps: list[CardStep]) -> tuple[SharedAccess, ...]:
    """The steps of a price, those with the same users together."""
    words = {step_key(step): step.words for step in steps}
    together: dict[tuple[str, ...], list[labour.PricedLine]] = {}
    for priced_line in price.lines:
        if priced_line.kind == "step":
            together.setdefault(users[priced_line.key], []).append(priced_line)
    return tuple(
        SharedAccess(
            lines=tuple(int(key.removeprefix("line-")) for key in keys),
            words=tuple(words[step.key] for step in group),
            minutes=sum(step.minutes for step in group),
            net=sum((step.net for step in group), ZERO),
        )
        for keys, group in together.items()
    )


def stop_here(card: Card, opened: Iterable[CardStep]) -> labour.SetPrice:
    """What is owed if these steps are opened and nothing is ordered: opening, closing, what opening uses up, with tax.

    At the rate and tax of today. Raises LookupError, with a sentence, when no rate or tax is set."""
    rate, tax = _rate_and_tax(card)
    return labour.stopped_after_opening(steps(card), [step_key(step) for step in opened], rate_per_hour=rate, tax_rate=tax)
