"""Coolant: plans worked by hand, and plans that cannot be."""

from decimal import Decimal

import pytest

from workshop.calc import coolant

D = Decimal


def test_part_drains() -> None:
    assert round(coolant.drain_and_replace_l(D("11.6"), D("0.38"), D("0.50")), 2) == D("2.25")
    assert coolant.drain_and_replace_l(8, D("0.5"), D("0.5")) == 0


def test_a_fill_over_what_stays() -> None:
    concentrate, water = coolant.fill_l(D("11.6"), D("3.1"), D("0.28"), D("0.50"))
    assert (round(concentrate, 2), round(water, 2)) == (D("4.93"), D("3.57"))


def test_a_fill_that_cannot_be_done_in_one_go() -> None:
    with pytest.raises(ValueError, match=r"needs 5\.10 L into room for 4\.60: at most 45\.7%"):
        coolant.fill_l(D("11.6"), 7, D("0.10"), D("0.50"))
    with pytest.raises(ValueError, match="too strong"):
        coolant.fill_l(10, 8, D("0.60"), D("0.40"))


def test_ready_mix_over_flush_water_is_weaker_than_it_says() -> None:
    assert round(coolant.after_topping_up(D("3.1"), 0, D("8.5"), D("0.5")), 3) == D("0.366")


def test_more_glycol_freezes_later_up_to_the_table() -> None:
    for glycol, top in (("ethylene", 60), ("propylene", 50)):
        points = [coolant.freeze_point_c(glycol, D(part) / 100) for part in range(top + 1)]
        assert points == sorted(points, reverse=True)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="protects less"):
        coolant.freeze_point_c("ethylene", D("0.61"))
    with pytest.raises(ValueError, match="No figure above 50"):
        coolant.freeze_point_c("propylene", D("0.55"))
    with pytest.raises(ValueError, match="no table for 'methyl'"):
        coolant.freeze_point_c("methyl", D("0.5"))
    with pytest.raises(ValueError, match=r"50 % is 0\.5, not 50"):
        coolant.drain_and_replace_l(8, D("0.3"), 50)
    with pytest.raises(ValueError, match="must lie between the two"):
        coolant.drain_and_replace_l(8, D("0.3"), D("0.5"), D("0.4"))
    with pytest.raises(ValueError, match="must lie between the two"):
        coolant.drain_and_replace_l(8, D("0.6"), D("0.5"))
    with pytest.raises(ValueError, match="volume_l must be above zero"):
        coolant.drain_and_replace_l(0, D("0.3"), D("0.5"))
    with pytest.raises(ValueError, match="added_l must be zero or more"):
        coolant.after_topping_up(8, D("0.3"), -1, 0)
