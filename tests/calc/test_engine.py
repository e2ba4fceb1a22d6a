"""Engine sums worked by hand, and readings that tell nothing."""

from decimal import Decimal

import pytest

from workshop.calc import engine

D = Decimal


def test_a_charge_cooler_before_and_after() -> None:
    assert round(engine.cooler_effectiveness(128, 71, 22), 3) == D("0.538")
    assert round(engine.cooler_effectiveness(141, 52, 19), 3) == D("0.730")


def test_the_same_boost_is_another_ratio_up_the_hill() -> None:
    assert round(engine.pressure_ratio(118, D("93.2")), 2) == D("2.27")
    assert engine.pressure_ratio(118, D("93.2")) > engine.pressure_ratio(118, D("101.3"))


def test_a_compression_spread() -> None:
    assert round(engine.compression_lowest_part([D("27.4"), D("26.9"), D("22.1"), D("27.1")]), 3) == D("0.807")


def test_power_at_the_rollers() -> None:
    assert round(engine.power_kw(262, 2240), 1) == D("61.5")
    assert engine.power_kw(0, 3000) == 0


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="zero or more"):
        engine.power_kw(-1, 3000)
    with pytest.raises(ValueError, match="1 or more, of absolute"):
        engine.compressor_outlet_c(25, D("0.9"), D("0.7"))
    with pytest.raises(ValueError, match="fraction above 0"):
        engine.compressor_outlet_c(25, 2, 70)
    with pytest.raises(ValueError, match="ambient_kpa must be above zero"):
        engine.pressure_ratio(100, 0)
    with pytest.raises(ValueError, match="too little to tell"):
        engine.cooler_effectiveness(36, 30, 22)
    with pytest.raises(ValueError, match="sensors are swapped"):
        engine.cooler_effectiveness(100, 20, 22)
    with pytest.raises(ValueError, match="two cylinders"):
        engine.compression_lowest_part([27])
