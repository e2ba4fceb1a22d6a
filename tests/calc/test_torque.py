"""Wrench settings: worked by hand, and what no setting can give."""

from decimal import Decimal

import pytest

from workshop.calc import torque

D = Decimal


@pytest.mark.parametrize(("angle", "setting"), [(0, "36.8"), (45, "38.2"), (-45, "38.2"), (90, "42.0"), (180, "48.9")])
def test_settings_round_the_clock(angle: int, setting: str) -> None:
    assert round(torque.wrench_setting(42, 320, 45, angle), 1) == D(setting)


def test_the_setting_rises_as_the_extension_swings_back() -> None:
    settings = [torque.wrench_setting(42, 320, 45, angle) for angle in range(0, 181, 5)]
    assert settings == sorted(settings)


def test_without_an_extension_nothing_changes() -> None:
    assert torque.wrench_setting(D("42.5"), 320, 0, 37) == D("42.5")


def test_nonsense_is_refused() -> None:
    for arguments, sentence in (
        ((0, 320, 45), "torque must be above zero"),
        ((42, -1, 45), "lever must be above zero"),
        ((42, 320, -45), "has an angle of 180"),
        ((42, 320, 45, 270), "between -180 and 180"),
        ((42, 320, 320, 180), "to the hand or past it"),
    ):
        with pytest.raises(ValueError, match=sentence):
            torque.wrench_setting(*arguments)


def test_a_setting_outside_the_tool_is_refused() -> None:
    assert torque.in_tool_range(D("36.8"), 20, 100) == D("36.8")
    with pytest.raises(ValueError, match=r"15\.0 is below the tool's range of 20 to 100"):
        torque.in_tool_range(15, 20, 100)
    with pytest.raises(ValueError, match="above the tool's range"):
        torque.in_tool_range(101, 20, 100)
