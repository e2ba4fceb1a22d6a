"""Tax of a document: which amounts are summed, where it is rounded, and how it is shared back over the lines."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from workshop.calc.money import ZERO, Rule, exact, not_negative, round_to_coin, share

Basis = Literal["exclusive", "inclusive"]
Per = Literal["total", "line"]


@dataclass(frozen=True)
class Line:
    """One line of a document in whole coins. `amount` is without tax on an exclusive document and with tax on an inclusive one."""

    amount: Decimal
    code: str
    rate: Decimal

    def __post_init__(self) -> None:
        if round_to_coin(self.amount) != self.amount:
            raise ValueError(f"A line is in whole coins before tax is worked out: round {self.amount} first.")
        require_rate(self.rate)


@dataclass(frozen=True)
class Taxed:
    """An amount three ways; net + tax = gross always, or it cannot be made."""

    net: Decimal
    tax: Decimal
    gross: Decimal

    def __post_init__(self) -> None:
        if self.net + self.tax != self.gross:
            raise ValueError(f"{self.net} + {self.tax} is not {self.gross}.")


@dataclass(frozen=True)
class CodeTotal(Taxed):
    """The lines of one tax code at one rate."""

    code: str
    rate: Decimal


@dataclass(frozen=True)
class DocumentTotal(Taxed):
    """A whole document with its part for each code and rate, in the order in which they first appear."""

    codes: tuple[CodeTotal, ...]


def require_rate(rate: Decimal | int) -> Decimal:
    """The rate as a fraction (22 % is 0.22). Raises ValueError for a float, a negative rate, or one of 1 and more."""
    number = not_negative(rate, "tax_rate")
    if number >= 1:
        raise ValueError(f"tax_rate is a fraction, 22 % is 0.22, not {rate}.")
    return number


def from_net(net: Decimal | int, rate: Decimal, rule: Rule = "half_up") -> Taxed:
    """Tax put on a net amount: tax = net x rate, rounded to the coin. Raises ValueError for floats. Source: EN 16931, BR-CO-17."""
    amount = exact(net, "net")
    tax = round_to_coin(amount * require_rate(rate), rule)
    return Taxed(amount, tax, amount + tax)


def from_gross(gross: Decimal | int, rate: Decimal, rule: Rule = "half_up") -> Taxed:
    """Tax taken out of a gross amount: net = gross / (1 + rate) rounded to the coin, tax is the rest. Raises ValueError for floats.

    The gross is never changed, so a price that was promised with tax stays the promised price."""
    amount = exact(gross, "gross")
    net = round_to_coin(amount / (1 + require_rate(rate)), rule)
    return Taxed(net, amount - net, amount)


def next_part(before: Taxed, net: Decimal, rate: Decimal, rule: Rule = "half_up") -> Taxed:
    """What a further part of one whole adds: the tax on all parts so far less the tax of the parts before.

    So the parts of a job, or the credits to an invoice, together carry the tax of the whole and never a coin more; each stands
    within one coin of its own tax. The house's own rule. Raises ValueError for floats."""
    tax = from_net(before.net + exact(net, "net"), rate, rule).tax - before.tax
    return Taxed(net, tax, net + tax)


def document(lines: Iterable[Line], *, basis: Basis = "exclusive", per: Per = "total", rule: Rule = "half_up") -> DocumentTotal:
    """Totals of a document, per code and rate and altogether.

    per "total": amounts of one code and rate are summed, then taxed and rounded once (EN 16931 BR-CO-14, -17; GST Act s 9-90(1)(a)).
    per "line": every line is taxed and rounded by itself, then summed (GST Act s 9-90(1)(b)).
    Raises ValueError for an unknown basis or per."""
    if basis not in ("exclusive", "inclusive") or per not in ("total", "line"):
        raise ValueError(f"A document is exclusive or inclusive, taxed per total or line, not {basis!r} and {per!r}.")
    taxed = from_net if basis == "exclusive" else from_gross
    groups: dict[tuple[str, Decimal], list[Decimal]] = {}
    for line in lines:
        groups.setdefault((line.code, line.rate), []).append(line.amount)
    codes = []
    for (code, rate), amounts in groups.items():
        pieces = [taxed(amount, rate, rule) for amount in ([sum(amounts, ZERO)] if per == "total" else amounts)]
        codes.append(CodeTotal(*_summed(pieces), code, rate))
    return DocumentTotal(*_summed(codes), tuple(codes))


def _summed(pieces: Sequence[Taxed]) -> tuple[Decimal, Decimal, Decimal]:
    return sum((p.net for p in pieces), ZERO), sum((p.tax for p in pieces), ZERO), sum((p.gross for p in pieces), ZERO)


def share_tax(tax: Decimal, nets: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """The tax of a set shared over its lines by largest remainder, so that the lines shown add up to the total.

    What a choice changes is never read off these shares: price both sets.
    Raises ValueError if the nets sum to zero and the tax does not."""
    return share(tax, nets)
