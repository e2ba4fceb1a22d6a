"""What of a card may be invoiced now: accepted and done, each line with the go-ahead that allows it, priced as it was frozen."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils import timezone

from workshop import clock
from workshop.calc import labour, tax
from workshop.calc.money import ZERO
from workshop.company import queries as company
from workshop.company.models import TaxRate
from workshop.customers.models import Party
from workshop.invoices import queries
from workshop.invoices.models import DocTax, Document
from workshop.jobs.models import Card, Line
from workshop.quotes import queries as quotes
from workshop.quotes.models import Answer, GoAhead, Version

DONE = (Line.Progress.DONE, Line.Progress.CHECKED)
YES = ("accept", "accepted")


@dataclass(frozen=True)
class BillLine:
    """One priced line of the paper: work on a line of the card (`line`), or one access step (`step_id`) with the lines that use it."""

    numbers: tuple[int, ...]
    line_kind: str  # work, fixed, first_price, access
    words: str
    parts: tuple[str, ...]
    go_ahead: GoAhead
    minutes: int
    labour_amount: Decimal
    parts_amount: Decimal
    amount: Decimal
    tax_code: str
    line: Line | None = None
    step_id: int | None = None


@dataclass(frozen=True)
class Bill:
    """What an invoice issued now would hold. `refusals`: sentences that stand in its way; none means that it can be issued.

    `choices`: all lines that could stand on it, `day_refusal`: the sentence beside its date."""

    payer: Party | None
    lines: tuple[BillLine, ...]
    total: tax.DocumentTotal
    tax_point_on: date
    rate_per_hour: Decimal | None
    refusals: tuple[str, ...]
    choices: tuple[Line, ...] = ()
    day_refusal: str = ""

    @property
    def minutes(self) -> int:
        """All minutes of the lines."""
        return sum(line.minutes for line in self.lines)

    @property
    def taxes(self) -> list[dict[str, Any]]:
        """Each tax code with its name, its rate in per cent, and its tax."""
        named = {row.code: row.name for row in TaxRate.objects.filter(from_on__lte=self.tax_point_on).order_by("from_on")}
        return [{"name": named.get(code.code, code.code), "percent": code.rate * 100, "tax": code.tax} for code in self.total.codes]


def draw_up(card: Card, issued_on: date, numbers: Collection[int] | None = None) -> Bill:
    """The bill of a card as of a day; reads only. `numbers`: the lines to invoice now, None all that can be.

    Prices are those of the last answered version that holds the line, never today's. The tax rate is that of the tax point: the day
    on which the last of the work was done, at the latest the day of issue."""
    billed = _billed(card, "line_id")
    choices = [line for line in _ordered(card) if line.pk not in billed]
    waiting = [line for line in choices if numbers is None or line.number in numbers]
    pointed = _go_aheads(card)
    refusals = list(_unfit(choices, waiting, pointed, numbers))
    versions = _versions(card, [line for line in waiting if line.pk in pointed])
    # Two entries that were merged are one payer: the one that was kept.
    payers = {payer.pk: payer for version in versions for payer in [version.payer.merged_into or version.payer]}
    if len(payers) > 1:
        refusals.append("These lines have more than one payer. An invoice has one.")
    days = [timezone.localdate(line.done_at) for line in waiting if line.done_at]
    agreed = [timezone.localdate(pointed[line.pk].at) for line in waiting if line.pk in pointed]
    earliest = max([*days, *agreed], default=issued_on)
    day_refusal = ""
    if issued_on < earliest:
        day_refusal = f"{issued_on} is before the work was agreed and done, {earliest}. Date the invoice on that day or later."
        issued_on = earliest
    tax_point_on = max(days, default=issued_on)
    lines = tuple(_priced(card, versions, pointed))
    payer = next(iter(payers.values()), None)
    before = _before(card, payer) if payer else {}
    if payer and (over := _over(card, payer, sum((line.amount for line in lines), ZERO) + sum((b.net for b in before.values()), ZERO))):
        refusals.append(over)
    return Bill(
        payer=payer,
        lines=lines,
        total=_total(lines, tax_point_on, before),
        tax_point_on=tax_point_on,
        rate_per_hour=next((quotes.Pricing(quotes.body(version)).rate_per_hour for version in versions), None),
        refusals=tuple(refusals),
        choices=tuple(choices),
        day_refusal=day_refusal,
    )


def uninvoiced(card: Card) -> Decimal | None:
    """What is agreed, done and on no invoice yet, with tax, as an invoice of today would have it; None when there is nothing.

    Two queries when all is invoiced, a whole bill otherwise."""
    billed = _billed(card, "line_id")
    if all(line.pk in billed for line in _ordered(card)):
        return None
    return draw_up(card, clock.today()).total.gross or None


def _unfit(choices: list[Line], waiting: list[Line], pointed: Collection[int], numbers: Collection[int] | None) -> Iterator[str]:
    """Why these lines cannot stand on an invoice now, a sentence each."""
    for line in waiting:
        if line.pk not in pointed:
            yield f"Line {line.number}, {line.words}, has no go-ahead on file. Offer it and have it answered, then issue the invoice."
    if numbers is not None and (strange := sorted(set(numbers) - {line.number for line in choices})):
        yield f"Line {', '.join(map(str, strange))} cannot be invoiced now: not accepted, not done, or invoiced before."
    if choices and not waiting:
        yield "No line is ticked. Tick what to invoice now."
    if not choices:
        yield "No line on this card is accepted, done and not invoiced yet, so there is nothing to invoice."


def _ordered(card: Card) -> list[Line]:
    """Accepted and done, or agreed in advance (call-out, diagnosis)."""
    accepted = card.lines.filter(answer=Line.Answer.ACCEPTED).order_by("number")
    return [line for line in accepted if line.progress in DONE or line.kind == Line.Kind.FIRST_PRICE]


def _billed(card: Card, column: str) -> set[int]:
    """What stands on an invoice of this card and was not credited whole."""
    return set(queries.standing_lines().filter(document__card=card).exclude(**{column: None}).values_list(column, flat=True))


def _go_aheads(card: Card) -> dict[int, GoAhead]:
    """Line to the last go-ahead that accepted it."""
    answers = Answer.objects.filter(version_line__line__card=card, answer__in=YES).select_related("go_ahead__version", "version_line")
    return {answer.version_line.line_id: answer.go_ahead for answer in answers.order_by("go_ahead__at", "pk")}


def _versions(card: Card, lines: list[Line]) -> dict[Version, list[Line]]:
    """Answered version to the lines that it prices: each line by the last one that holds it."""
    left = {line.number: line for line in lines}
    found: dict[Version, list[Line]] = {}
    answered = Version.objects.filter(card=card, state=Version.State.ANSWERED).select_related("payer").order_by("-no")
    for version in answered if left else ():
        page = quotes.body(version)
        held = [int(line["number"]) for line in [*page["committed"]["lines"], *page["offered"]] if int(line["number"]) in left]
        if held:
            found[version] = [left.pop(number) for number in held]
    return found


def _priced(card: Card, versions: dict[Version, list[Line]], pointed: dict[int, GoAhead]) -> Iterator[BillLine]:
    """Work in the order of the card, then the access that it needs and that no document has yet."""
    opened = _billed(card, "step_id")
    step_ids = {f"step-{position}": pk for pk, position in card.steps.values_list("pk", "position")}
    access: dict[str, BillLine] = {}
    work: list[BillLine] = []
    for version, lines in versions.items():
        page = quotes.body(version)
        pricing = quotes.Pricing(page)
        by_key = {f"line-{line.number}": line for line in lines}
        priced = labour.price_set(
            pricing.operations, pricing.steps, by_key.keys(), rate_per_hour=pricing.rate_per_hour, tax_rate=pricing.tax_rate
        )
        users = labour.users_of_step(pricing.operations, pricing.steps, by_key.keys())
        sent = {f"line-{line['number']}": line for line in [*page["committed"]["lines"], *page["offered"]]}
        sent |= {step["key"]: step for step in page["steps"]}
        code = page["pricing"]["tax_code"]
        for item in priced.lines:
            if item.kind == "operation":
                line = by_key[item.key]
                work.append(_line(item, sent[item.key], code, pointed[line.pk], (line,), line=line))
            elif step_ids[item.key] not in opened:
                served = tuple(by_key[key] for key in users[item.key])
                access.setdefault(item.key, _line(item, sent[item.key], code, pointed[served[0].pk], served, step_id=step_ids[item.key]))
    yield from sorted(work, key=lambda line: line.numbers)
    yield from access.values()


def _line(
    item: labour.PricedLine,
    sent: dict[str, Any],
    tax_code: str,
    go_ahead: GoAhead,
    served: tuple[Line, ...],
    *,
    line: Line | None = None,
    step_id: int | None = None,
) -> BillLine:
    return BillLine(
        numbers=tuple(sorted(user.number for user in served)),
        line_kind=_kind(sent, line),
        words=sent["words"],
        parts=tuple(_parts(sent)),
        go_ahead=go_ahead,
        minutes=item.minutes,
        labour_amount=item.labour,
        parts_amount=item.parts,
        amount=item.net,
        tax_code=tax_code,
        line=line,
        step_id=step_id,
    )


def _kind(sent: dict[str, Any], line: Line | None) -> str:
    if line is None:
        return "access"
    if line.kind == Line.Kind.FIRST_PRICE:
        return "first_price"
    return "fixed" if sent.get("fixed") else "work"


def _parts(sent: dict[str, Any]) -> Iterator[str]:
    """What the customer gets for the parts amount, in words."""
    for part in sent.get("parts", ()):
        count = f"{Decimal(part['quantity']).normalize():f} × " if Decimal(part["quantity"]) != 1 else ""
        yield f"{count}{part['words']}"
    if sent.get("material_words"):
        yield sent["material_words"]


type Case = tuple[str, Decimal]


def _before(card: Card, payer: Party) -> dict[Case, tax.Taxed]:
    """What this payer was invoiced on this card before, less what was credited, by tax code and rate."""
    sums: dict[Case, tax.Taxed] = {}
    theirs = DocTax.objects.filter(document__card=card, document__payer__in=queries.same_party(payer)).select_related("document")
    for row in theirs:
        sign = -1 if row.document.kind == Document.Kind.CREDIT else 1
        so_far = sums.get((row.tax_code, row.rate), tax.Taxed(ZERO, ZERO, ZERO))
        net, its_tax = so_far.net + sign * row.net_amount, so_far.tax + sign * row.tax_amount
        sums[row.tax_code, row.rate] = tax.Taxed(net, its_tax, net + its_tax)
    return sums


def _over(card: Card, payer: Party, net: Decimal) -> str:
    """The sentence when all invoices of a payer would come to more than was last agreed (A3); nothing when they do not.

    Compared without tax: a rate that the law changed between answer and work is no overrun of ours."""
    theirs = Version.objects.filter(card=card, state=Version.State.ANSWERED, payer__in=queries.same_party(payer))
    if (last := theirs.order_by("-no").first()) is None:
        return ""
    accepted = [number for number in last.go_ahead.set_after if number not in last.go_ahead.set_before]
    agreed = quotes.Pricing(quotes.body(last)).after(accepted).net
    if net <= agreed:
        return ""
    without = " without tax" if company.taxed() else ""
    return f"With what was invoiced before this comes to {net:,}{without}, and {agreed:,} were agreed. Have the difference answered first."


def _total(lines: tuple[BillLine, ...], tax_point_on: date, before: dict[Case, tax.Taxed]) -> tax.DocumentTotal:
    """Tax once on the total of each code; of a further part, what it adds, so that all parts together are the whole."""
    nets: dict[str, Decimal] = {}
    for line in lines:
        nets[line.tax_code] = nets.get(line.tax_code, ZERO) + line.amount
    codes = []
    for code, net in nets.items():
        rate = company.tax_rate_on(code, tax_point_on)
        part = tax.next_part(before.get((code, rate), tax.Taxed(ZERO, ZERO, ZERO)), net, rate)
        codes.append(tax.CodeTotal(part.net, part.tax, part.gross, code, rate))
    net, its_tax = sum((code.net for code in codes), ZERO), sum((code.tax for code in codes), ZERO)
    return tax.DocumentTotal(net, its_tax, net + its_tax, tuple(codes))
