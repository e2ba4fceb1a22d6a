"""There and back is the same number; what cannot be converted says why."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop.calc import units

D = Decimal
PAIRS = [(a, b) for a in units.UNITS for b in units.UNITS if units.UNITS[a].quantity == units.UNITS[b].quantity]


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(PAIRS), st.integers(0, 10**9), st.integers(0, 6))
def test_there_and_back_is_exact(pair: tuple[str, str], figures: int, places: int) -> None:
    value = D(figures).scaleb(-places)
    assert units.convert(units.convert(value, *pair), *reversed(pair)) == value


@settings(max_examples=20, deadline=None)
@given(st.sampled_from(PAIRS), st.integers(0, 10**6), st.integers(1, 10**6))
def test_more_is_more_in_every_unit(pair: tuple[str, str], value: int, more: int) -> None:
    assert units.convert(value, *pair) < units.convert(value + more, *pair)


def test_shown_is_rounded_once() -> None:
    assert units.shown(89, "lbf·ft", "N·m") == D("120.7")
    assert units.shown(D("0.5"), "lbf·in", "N·m", 2) == D("0.056")
    assert str(units.shown(12345, "bar", "kPa", 2)) == "1200000"
    assert units.shown(0, "bar", "psi") == 0


def test_the_two_horsepowers_and_the_two_quarts_differ() -> None:
    assert units.convert(1, "PS", "kW") != units.convert(1, "hp", "kW")
    assert D("0.20") < units.convert(1, "qt (imp)", "qt (US)") - 1 < D("0.21")


@pytest.mark.parametrize(
    ("value", "source", "target", "sentence"),
    [
        (1, "qt", "L", r"qt can mean qt \(US\) or qt \(imp\): say which"),
        (1, "gal", "L", "gal can mean"),
        (1, "Nm", "lbf·ft", "no unit 'Nm'. Known are N·m"),
        (1, "N·m", "bar", "N·m is torque and bar is pressure"),
        (-500, "°C", "°F", "below absolute zero"),
        (float("nan"), "bar", "psi", "must be a number"),
        (10**400, "bar", "psi", "beyond anything"),
        (D("1E-999999"), "bar", "psi", "beyond anything"),
        ("12", "bar", "psi", "must be a number, not str"),
        (True, "bar", "psi", "must be a number, not bool"),
    ],
)
def test_nonsense_is_refused(value: object, source: str, target: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        units.convert(value, source, target)  # type: ignore[arg-type]


def test_quantities_list_their_symbols() -> None:
    assert units.symbols("power") == ("kW", "PS", "hp")
    with pytest.raises(ValueError, match="no quantity"):
        units.symbols("mood")
