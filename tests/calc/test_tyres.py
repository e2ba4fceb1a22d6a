"""Tyre sizes as they stand on the side, and what stands on none."""

from decimal import Decimal

import pytest

from workshop.calc import tyres

D = Decimal


def test_no_aspect_ratio_means_82() -> None:
    assert tyres.diameter_mm("205R16") == tyres.diameter_mm("205/82R16")


def test_a_larger_tyre_is_faster_than_the_dial() -> None:
    assert tyres.true_speed(100, "265/65R17", "265/65R17") == 100
    assert tyres.true_speed(100, "265/65R17", "265/70R17") > 100


@pytest.mark.parametrize("code", ["", "205", "205/55", "R16", "205/55R99", "999/55R16", "205/00R16", "round", "205/55Q16", "99x10.5 R15"])
def test_what_stands_on_no_tyre_is_refused(code: str) -> None:
    with pytest.raises(ValueError, match=r"is not a tyre size|is no size that a tyre has"):
        tyres.diameter_mm(code)


def test_nonsense_speeds_are_refused() -> None:
    with pytest.raises(ValueError, match="true_kmh must be above zero"):
        tyres.speedometer_may_show_kmh(0)
    with pytest.raises(ValueError, match="ratio must be above zero"):
        tyres.road_speed_kmh(2000, 0, "205/55R16")
