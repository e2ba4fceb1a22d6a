"""Factors against what others compute: pint 0.25 at run time, scipy 1.17 and GNU units 2.22 as noted when the table was made."""

import random
from decimal import Decimal

import pint
import pytest

from workshop.calc import units

D = Decimal
PINT = {
    "N·m": "newton*meter",
    "lbf·ft": "force_pound*foot",
    "lbf·in": "force_pound*inch",
    "kgf·m": "force_kilogram*meter",
    "L": "liter",
    "qt (US)": "US_liquid_quart",
    "qt (imp)": "imperial_quart",
    "gal (US)": "US_liquid_gallon",
    "gal (imp)": "imperial_gallon",
    "kPa": "kilopascal",
    "bar": "bar",
    "psi": "psi",
    "inHg": "inch_Hg",
    "kW": "kilowatt",
    "PS": "metric_horsepower",
    "hp": "horsepower",
    "°C": "degC",
    "°F": "degF",
    "km": "kilometer",
    "mi": "mile",
}


# Source: exact definitions (NIST SP 811 names them; computed with pint 0.25.3 and scipy 1.17.1, both agree).
@pytest.mark.parametrize(
    ("value", "source", "target", "expected", "within"),
    [
        ("89", "lbf·ft", "N·m", "120.6678", "0.0001"),
        ("1", "lbf·ft", "N·m", "1.3558179483314", "1e-12"),
        ("1", "lbf·in", "N·m", "0.1129848290276", "1e-12"),
        ("89", "lbf·in", "N·m", "10.06", "0.005"),  # the classic factor of twelve
        ("1", "kgf·m", "N·m", "9.80665", "0"),
        ("5", "qt (US)", "L", "4.73176473", "1e-6"),
        ("5", "qt (imp)", "L", "5.6826125", "0"),
        ("1", "gal (US)", "L", "3.785411784", "0"),
        ("1", "gal (imp)", "L", "4.54609", "0"),
        ("32", "psi", "kPa", "220.632", "0.001"),
        ("32", "psi", "bar", "2.20632", "0.00001"),
        ("1", "bar", "psi", "14.503773773", "1e-8"),
        ("1", "inHg", "kPa", "3.386388640", "1e-9"),  # from 25.4 torr it is 3.386388158: the seventh figure differs
        ("100", "PS", "kW", "73.549875", "0"),
        ("100", "hp", "kW", "74.56999", "0.00001"),
        ("1", "kW", "hp", "1.34102209", "1e-8"),
        ("1", "kW", "PS", "1.35962162", "1e-8"),
        ("180", "°F", "°C", "82.2222", "0.0001"),
        ("-40", "°F", "°C", "-40", "0"),
        ("212", "°F", "°C", "100", "0"),
        ("68", "°F", "°C", "20", "0"),
        ("1", "mi", "km", "1.609344", "0"),
    ],
)
def test_published_factors(value: str, source: str, target: str, expected: str, within: str) -> None:
    assert abs(units.convert(D(value), source, target) - D(expected)) <= D(within)


def test_a_thousand_random_values_agree_with_pint() -> None:
    registry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
    dice = random.Random(25)
    pairs = [(a, b) for a in PINT for b in PINT if a != b and units.UNITS[a].quantity == units.UNITS[b].quantity]
    for _ in range(1000):
        source, target = dice.choice(pairs)
        value = D(dice.randrange(1, 10**6)) / 1000
        theirs = registry.Quantity(float(value), PINT[source]).to(PINT[target]).magnitude
        assert float(units.convert(value, source, target)) == pytest.approx(theirs, rel=1e-9, abs=1e-9)
