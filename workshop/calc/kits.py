"""Kits of work that share what is drained: hardware adds up by its places, a fluid is filled once; what to buy in whole packs."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from workshop.calc.money import not_negative


@dataclass(frozen=True)
class Item:
    """Something that a kit needs. `shared` names what is filled once however many kits drain it, a fluid or its filter; empty for
    hardware, which belongs to a place of its own."""

    words: str
    quantity: Decimal
    shared: str = ""

    def __post_init__(self) -> None:
        not_negative(self.quantity, "quantity", self.words)


def _key(item: Item) -> tuple[str, str]:
    return ("shared", item.shared.casefold()) if item.shared else ("own", item.words.casefold())


def need(kits: Iterable[Iterable[Item]]) -> dict[str, Decimal]:
    """What the kits need together, by name: hardware the sum over all places, what is shared the most that one kit needs.

    Within one kit the same shared name adds up: it fills one drain from several cans. Names that differ only in capitals are one; the
    first in the alphabet stands. Raises ValueError for negatives and floats. Formula: the trade's own reckoning, no published source.
    """
    sums: dict[tuple[str, str], Decimal] = {}
    names: dict[tuple[str, str], str] = {}
    for kit in kits:
        own: dict[tuple[str, str], Decimal] = {}
        for item in kit:
            key = _key(item)
            own[key] = own.get(key, Decimal(0)) + item.quantity
            name = item.shared or item.words
            names[key] = min(name, names.get(key, name))
        for key, quantity in own.items():
            before = sums.get(key, Decimal(0))
            sums[key] = max(before, quantity) if key[0] == "shared" else before + quantity
    together: dict[str, Decimal] = {}
    for key, quantity in sums.items():
        together[names[key]] = together.get(names[key], Decimal(0)) + quantity
    return together


def buy(needed: Decimal, *, stock: Decimal = Decimal(0), spare: Decimal = Decimal(0), pack: Decimal = Decimal(1)) -> Decimal:
    """How much to buy in whole packs: ceil((need + spare - stock) / pack) x pack, 0 when there is enough. Same unit throughout.

    Raises ValueError for negatives, floats and a pack of nothing."""
    for name, value in {"need": needed, "stock": stock, "spare": spare, "pack": pack}.items():
        not_negative(value, name)
    if not pack:
        raise ValueError("pack must be more than zero.")
    packs = ((needed + spare - stock) / pack).to_integral_value(ROUND_CEILING)
    return max(Decimal(0), packs * pack)


def topped_up(there: Decimal, more: Decimal) -> Decimal:
    """How much of something shared is still missing beside what is there: 0 when that is enough."""
    return max(Decimal(0), not_negative(more, "need") - not_negative(there, "quantity that is there"))
