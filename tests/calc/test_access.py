"""calc.access. The order of opening is the house's own rule, worked by hand on the belt and pump of the make-believe job; no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.calc.access import closed_before, open_behind, order_of_opening
from workshop.calc.labour import Step

TRAY, DRAIN = Step("tray", 12, 12), Step("drain", 15, 30, ("tray",))
BELT, COVER = Step("belt", 25, 25, ("tray",)), Step("cover", 35, 40, ("belt",))
TIMING = Step("timing", 20, 35, ("cover", "drain"))
FRONT = (TIMING, COVER, BELT, DRAIN, TRAY)


def test_what_must_be_open_comes_first():
    assert order_of_opening(FRONT, "timing") == ("tray", "belt", "cover", "drain", "timing")
    assert order_of_opening(FRONT, "tray") == ("tray",)


def test_a_step_waits_for_those_before_it():
    assert closed_before(FRONT, (), "cover") == ("tray", "belt")
    assert closed_before(FRONT, {"tray"}, "cover") == ("belt",)
    assert closed_before(FRONT, {"tray", "belt"}, "cover") == ()


def test_a_step_is_closed_after_those_behind_it():
    assert open_behind(FRONT, {"tray", "belt", "cover"}, "tray") == ("cover", "belt")
    assert open_behind(FRONT, {"tray", "drain"}, "drain") == ()


@pytest.mark.parametrize("key", ["nothing", ""])
def test_a_step_there_is_not_is_refused_by_name(key):
    with pytest.raises(ValueError, match="There is no step"):
        order_of_opening(FRONT, key)


def test_a_circle_is_refused():
    with pytest.raises(ValueError, match="circle"):
        order_of_opening((Step("a", 1, 1, ("b",)), Step("b", 1, 1, ("a",))), "a")


@st.composite
def vehicles(draw):
    """Up to eight steps, each needing some of those before it, in any order, and what somebody tries on them."""
    count = draw(st.integers(1, 8))
    names = [f"step-{number}" for number in range(count)]
    steps = [Step(name, 1, 1, tuple(sorted(draw(st.sets(st.sampled_from(names[:n])))) if n else ())) for n, name in enumerate(names)]
    tries = draw(st.lists(st.tuples(st.sampled_from(["open", "close"]), st.sampled_from(names)), max_size=40))
    return draw(st.permutations(steps)), tries


@given(vehicles())
def test_whatever_is_tried_what_is_open_has_all_before_it_open(vehicle):
    steps, tries = vehicle
    needs, opened = {step.key: set(step.needs) for step in steps}, set()
    for way, key in tries:
        if way == "open" and not closed_before(steps, opened, key):
            opened.add(key)
        if way == "close" and not open_behind(steps, opened, key):
            opened.discard(key)
        assert all(needs[name] <= opened for name in opened)


@given(vehicles())
def test_all_can_be_opened_in_the_order_that_is_told_and_closed_backwards(vehicle):
    steps, _ = vehicle
    opened = set()
    for step in steps:
        for key in order_of_opening(steps, step.key):
            assert not closed_before(steps, opened, key)
            opened.add(key)
    while opened:
        shut = {key for key in opened if not open_behind(steps, opened, key)}
        assert shut
        opened -= shut
