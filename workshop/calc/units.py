"""Units over a closed table, with exact factors.

A value is kept as printed; what is converted is shown second and never converted again."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal, localcontext
from fractions import Fraction

Number = Decimal | int | float
PI = Decimal("3.14159265358979323846264338328")


@dataclass(frozen=True)
class Unit:
    """What it measures, and base = factor x value + offset, both exact."""

    quantity: str
    factor: Fraction
    offset: Fraction = Fraction(0)


def _exact(text: str) -> Fraction:
    return Fraction(Decimal(text))


# By definition: the international yard and pound of 1959 (foot 0.3048 m, pound 0.45359237 kg), standard gravity 9.80665 m/s2
# (3rd CGPM 1901), the US gallon of 231 cubic inches, the imperial gallon of 4.54609 L. The rest follows.
_GRAVITY = _exact("9.80665")
_POUND_FORCE = _exact("0.45359237") * _GRAVITY
_FOOT = _exact("0.3048")
_INCH = _FOOT / 12
_US_GALLON = 231 * (_INCH * 10) ** 3
_IMPERIAL_GALLON = _exact("4.54609")

UNITS = {
    "N·m": Unit("torque", Fraction(1)),
    "lbf·ft": Unit("torque", _POUND_FORCE * _FOOT),
    "lbf·in": Unit("torque", _POUND_FORCE * _INCH),
    "kgf·m": Unit("torque", _GRAVITY),
    "L": Unit("volume", Fraction(1)),
    "qt (US)": Unit("volume", _US_GALLON / 4),
    "qt (imp)": Unit("volume", _IMPERIAL_GALLON / 4),
    "gal (US)": Unit("volume", _US_GALLON),
    "gal (imp)": Unit("volume", _IMPERIAL_GALLON),
    "kPa": Unit("pressure", Fraction(1)),
    "bar": Unit("pressure", Fraction(100)),
    "psi": Unit("pressure", _POUND_FORCE / _INCH**2 / 1000),
    # The conventional inch of mercury, 13595.1 kg/m3. From atm/760 it differs in the seventh figure.
    "inHg": Unit("pressure", _exact("13595.1") * _GRAVITY * _INCH / 1000),
    "kW": Unit("power", Fraction(1)),
    "PS": Unit("power", 75 * _GRAVITY / 1000),
    "hp": Unit("power", 550 * _POUND_FORCE * _FOOT / 1000),
    "°C": Unit("temperature", Fraction(1)),
    "°F": Unit("temperature", Fraction(5, 9), Fraction(-160, 9)),
    "km": Unit("distance", Fraction(1)),
    "mi": Unit("distance", 5280 * _FOOT / 1000),
}


_ABSOLUTE_ZERO_C = _exact("-273.15")
_LONG = Context(prec=80)


def unit(symbol: str) -> Unit:
    """The unit behind a symbol. Raises ValueError that lists the symbols.

    A plain quart or gallon is refused: US and imperial differ by 20 %."""
    if symbol in UNITS:
        return UNITS[symbol]
    alike = [known for known in UNITS if known.startswith(f"{symbol} (")]
    if alike:
        raise ValueError(f"{symbol} can mean {' or '.join(alike)}: say which.")
    raise ValueError(f"There is no unit {symbol!r}. Known are {', '.join(UNITS)}.")


def symbols(quantity: str) -> tuple[str, ...]:
    """The symbols of a quantity: torque, volume, pressure, power, temperature or distance. Raises ValueError for another."""
    found = tuple(symbol for symbol, known in UNITS.items() if known.quantity == quantity)
    if not found:
        raise ValueError(f"There is no quantity {quantity!r}.")
    return found


def measure(value: Number, name: str) -> Decimal:
    """A measured value as a Decimal; a float is taken as it prints. Raises ValueError, by name, for anything that is no finite number."""
    if isinstance(value, bool) or not isinstance(value, Decimal | int | float):
        raise ValueError(f"{name} must be a number, not {type(value).__name__} {value!r}.")
    number = Decimal(repr(value)) if isinstance(value, float) else Decimal(value)
    if not number.is_finite():
        raise ValueError(f"{name} must be a number, not {value}.")
    if number and not -30 <= number.adjusted() <= 30:
        raise ValueError(f"{name} is beyond anything that is measured: {value}.")
    return number


def positive(value: Number, name: str) -> Decimal:
    """A measured value above zero. Raises ValueError, by name, for any other."""
    number = measure(value, name)
    if number <= 0:
        raise ValueError(f"{name} must be above zero, not {value}.")
    return number


def convert(value: Number, from_unit: str, to_unit: str) -> Decimal:
    """The value in the other unit, not rounded to be read: it is kept to so many figures that there and back is the same number.

    Round once, for showing. Raises ValueError for an unknown or ambiguous unit, units of two quantities, no number, or a temperature
    below absolute zero. Anything else may be negative: a difference is one. Factors by definition, see the table."""
    source, target = unit(from_unit), unit(to_unit)
    if source.quantity != target.quantity:
        raise ValueError(f"{from_unit} is {source.quantity} and {to_unit} is {target.quantity}: one does not become the other.")
    base = Fraction(measure(value, "The value")) * source.factor + source.offset
    if source.quantity == "temperature" and base < _ABSOLUTE_ZERO_C:
        raise ValueError(f"{value} {from_unit} lies below absolute zero.")
    return _written((base - target.offset) / target.factor, source.offset != target.offset)


def _written(exact: Fraction, near_zero: bool) -> Decimal:
    # 80 figures are kept. What lies within a hair of a number of 40 figures came from that number and is given back as it was.
    # Where scales have different zeros the hair is not made finer near zero: 0 °F went to -17.7... °C and must come back as 0.
    with localcontext(prec=80):
        long = Decimal(exact.numerator) / Decimal(exact.denominator)
        size = max(long.adjusted(), 1) if near_zero else long.adjusted()
        short = long.quantize(Decimal(1).scaleb(size - 39))
    if abs(Fraction(short) - exact) > Fraction(10) ** (size - 50):
        return long
    return Decimal(f"{short.normalize(_LONG):f}") if short else Decimal(0)


def shown(value: Number, from_unit: str, to_unit: str, figures: int = 4) -> Decimal:
    """The converted value for reading, to so many figures. Raises ValueError as `convert`, and for fewer than one figure."""
    if figures < 1:
        raise ValueError(f"A number is shown with one figure or more, not {figures}.")
    with localcontext(prec=figures, rounding=ROUND_HALF_UP):
        return Decimal(f"{+convert(value, from_unit, to_unit):f}")
