"""Money in whole coins: one rounding function with named rules, sharing without a coin lost, reading what a person typed."""

import re
from collections.abc import Sequence
from decimal import ROUND_DOWN, ROUND_HALF_DOWN, ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Literal

Rule = Literal["half_up", "half_down", "down"]

COIN = Decimal("0.01")
ZERO = Decimal("0.00")
LARGEST = Decimal("999999999.99")

# Laws differ on the half coin: up in EN 16931 and Australia (GST Act s 9-90), down in New Zealand (GST Act 1985 s 19O),
# and the United Kingdom lets an invoice drop the fraction (Notice 700 para 17.5). So the rule is always named.
_MODES = {"half_up": ROUND_HALF_UP, "half_down": ROUND_HALF_DOWN, "down": ROUND_DOWN}


def exact(value: Decimal | int, name: str, of: str = "") -> Decimal:
    """The value as a Decimal. Raises ValueError, with the name in the sentence, for a float, a truth value, text or anything not finite."""
    if type(value) is Decimal:
        if value.is_finite():
            return value
    elif type(value) is int:
        return Decimal(value)
    raise ValueError(f"{_named(name, of)} must be a Decimal or a whole number, not {type(value).__name__} {value!r}.")


def not_negative(value: Decimal | int, name: str, of: str = "") -> Decimal:
    """The value as a Decimal of zero or more. Raises ValueError, with the name in the sentence, for anything else."""
    number = exact(value, name, of)
    if number < 0:
        raise ValueError(f"{_named(name, of)} must be zero or more, not {value}.")
    return number


def _named(name: str, of: str) -> str:
    return f"{name} of {of}" if of else name


def round_to_coin(amount: Decimal | int, rule: Rule = "half_up", coin: Decimal = COIN) -> Decimal:
    """The amount in whole coins. A credit mirrors its invoice: -0.125 goes where 0.125 goes, with the sign.

    Raises ValueError for a float, an unknown rule or a coin that is not above zero.
    Source of the default: EN 16931 (half up, two places)."""
    if rule not in _MODES:
        raise ValueError(f"There is no rounding rule {rule!r}: use half_up, half_down or down.")
    number = exact(amount, "amount")
    if coin is COIN:
        return number.quantize(COIN, _MODES[rule]) or ZERO  # never minus nothing
    if exact(coin, "coin") <= 0:
        raise ValueError(f"A coin must be above zero, not {coin}.")
    coins = (number / coin).quantize(Decimal(1), _MODES[rule])
    return (coins * coin).quantize(min(coin, COIN)) + ZERO


def share(total: Decimal | int, weights: Sequence[Decimal | int], coin: Decimal = COIN) -> tuple[Decimal, ...]:
    """The total in parts as the weights stand, each within one coin of its exact part, together exactly the total.

    Coins left over go to the largest remainders, of equal ones to the first. Raises ValueError for a total that is not in whole
    coins, for weights that sum to zero under a total that is not, and for floats. Largest remainder (Hare); common practice, no source."""
    amount = exact(total, "total")
    if amount % coin:
        raise ValueError(f"{total} cannot be shared in coins of {coin}.")
    if amount < 0:
        return tuple(-part + ZERO for part in share(-amount, weights, coin))
    parts = [Fraction(exact(weight, "weight")) for weight in weights]
    whole = sum(parts)
    if not amount:
        return tuple(amount.quantize(coin) + ZERO for _ in parts)
    if not whole:
        raise ValueError(f"{total} has nothing to be shared over: the weights sum to zero.")
    return _dealt_out(int(amount / coin), [part / whole for part in parts], coin)


def _dealt_out(coins: int, fractions: Sequence[Fraction], coin: Decimal) -> tuple[Decimal, ...]:
    wanted = [coins * fraction for fraction in fractions]
    given = [want.numerator // want.denominator for want in wanted]
    by_remainder = sorted(range(len(wanted)), key=lambda place: (given[place] - wanted[place], place))
    for place in by_remainder[: coins - sum(given)]:
        given[place] += 1
    return tuple(number * coin for number in given)


def round_cash(amount: Decimal | int, smallest: Decimal = Decimal("0.05"), rule: Rule = "half_up") -> Decimal:
    """What is handed over in cash where the smallest coin is 0.05 or 0.10. The document's total and tax stay as they are.

    Where a five goes down to the ten below, name the rule half_down. Raises ValueError for a smallest coin under one hundredth.
    Source of 0.05, half up: reg 168-5.11 GST Regulations 2019 (Australia), about travellers' refunds, so an analogy."""
    if exact(smallest, "smallest") < COIN:
        raise ValueError(f"Cash comes in coins of 0.01 or more, not {smallest}.")
    return round_to_coin(amount, rule, smallest)


def cash_difference(amount: Decimal | int, smallest: Decimal = Decimal("0.05"), rule: Rule = "half_up") -> Decimal:
    """What cash adds to (or, negative, takes from) the exact amount; a line of its own in the books."""
    return round_cash(amount, smallest, rule) - exact(amount, "amount")


_SPACES = "\u00a0\u2009\u202f\u2007\t"
_PLAIN = re.compile(r"\d+(?:[.,]\d*)?|[.,]\d+")
_COMMA_GROUPS = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d*)?")
_POINT_GROUPS = re.compile(r"\d{1,3}(?:\.\d{3})+(?:,\d*)?")
_APART = re.compile(r"\d{1,3}(?:[ '’]\d{3})+(?:[.,]\d*)?")
_TWO_READINGS = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")


def parse_amount(text: str, *, places: int = 2, negative: bool = False) -> Decimal:
    """What a person typed, as money: "1,234.50", "1.234,50", "1234,5", "1 234.50".

    Raises ValueError with a sentence for the person: nothing typed, not a number, more places than coins have, too large, below zero
    when negative is False, and "1,234", which is a thousand to one reader and one and a bit to another."""
    typed = text.strip().translate({ord(space): " " for space in _SPACES}).strip()
    if not typed:
        raise ValueError("Type an amount, like 12.50.")
    sign, digits = ("-", typed[1:].lstrip()) if typed[0] in "-−–" else ("", typed)
    number = _number(digits, text.strip())
    if sign and number and not negative:
        raise ValueError(f"{text.strip()} is below zero: type the amount without a minus.")
    return _fits(-number if sign else number, text.strip(), places) + ZERO.quantize(Decimal(1).scaleb(-places))


def _number(digits: str, typed: str) -> Decimal:
    if not digits.isascii() and "’" not in digits:
        raise ValueError(f"{typed} is not an amount: type figures, like 12.50.")
    if _TWO_READINGS.fullmatch(digits):
        joined = digits.replace(",", "").replace(".", "")
        raise ValueError(f"{typed} can be read two ways: type {joined}.00 or {digits[:-1].replace(',', '.')}.")
    if _PLAIN.fullmatch(digits):
        return Decimal(digits.replace(",", "."))
    if _COMMA_GROUPS.fullmatch(digits):
        return Decimal(digits.replace(",", ""))
    if _POINT_GROUPS.fullmatch(digits):
        return Decimal(digits.replace(".", "").replace(",", "."))
    if _APART.fullmatch(digits):
        return Decimal(re.sub("[ '’]", "", digits).replace(",", "."))
    raise ValueError(f"{typed} is not an amount: type figures, like 12.50.")


def _fits(number: Decimal, typed: str, places: int) -> Decimal:
    if abs(number) > LARGEST:
        raise ValueError(f"{typed} is too large: at most {LARGEST}.")
    smallest = Decimal(1).scaleb(-places)
    if number % smallest:
        raise ValueError(f"{typed} has more than {places} places after the point.")
    return number.quantize(smallest)
