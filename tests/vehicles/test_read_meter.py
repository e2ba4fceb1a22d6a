"""What a meter shows."""

from decimal import Decimal

import pytest

from tests.jobs.cards import TESTER, kinds, told
from workshop.vehicles import actions, queries


def camper():
    return actions.write_vehicle("Ostrel", "Wander 28", plate="vm 00 demo-2")


def test_a_vehicle_is_found_by_its_plate_however_it_is_typed(db):
    vehicle = camper()
    assert queries.by_plate("Vm 00 Demo-2 ").get() == vehicle


def test_a_reading_is_kept_with_one_line_of_history(db):
    vehicle, before = camper(), told()
    reading = actions.read_meter(TESTER, vehicle, "km", 48_600)
    assert (reading.value, reading.held_reason) == (48_600, "")
    assert kinds(before) == ["vehicles.read"]


def test_a_lower_figure_is_held_and_does_not_count(db):
    vehicle = camper()
    actions.read_meter(TESTER, vehicle, "km", 92_400)
    lower = actions.read_meter(TESTER, vehicle, "km", 310)
    assert "it was 92,400 km." in lower.held_reason
    assert queries.last_reading(lower.meter).value == 92_400


def test_hours_and_distance_are_two_meters(db):
    vehicle = camper()
    actions.read_meter(TESTER, vehicle, "km", 92_400)
    assert actions.read_meter(TESTER, vehicle, "h", Decimal("2140.5")).held_reason == ""


def test_below_zero_is_refused(db):
    with pytest.raises(ValueError, match="below zero"):
        actions.read_meter(TESTER, camper(), "km", -1)
