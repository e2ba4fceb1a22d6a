"""Bolts: sizes read, friction loosens the clamp, unknown classes get no figure."""

from decimal import Decimal

import pytest

from workshop.calc import fasteners

D = Decimal


def test_sizes_are_read() -> None:
    assert fasteners.thread("M12").pitch_mm == D("1.75")
    assert fasteners.thread("m12 x 1.25") == fasteners.thread("M12×1.25")


def test_more_friction_leaves_less_clamp_and_more_class_gives_more() -> None:
    clamps = [fasteners.preload_at_yield_n("M12", "8.8", D(mu) / 100) for mu in range(8, 20, 2)]
    assert clamps == sorted(clamps, reverse=True)
    by_class = [fasteners.preload_at_yield_n("M12", each, D("0.12")) for each in ("8.8", "10.9", "12.9")]
    assert by_class == sorted(by_class)
    assert fasteners.preload_at_yield_n("M12", "8.8", D("0.12")) < fasteners.proof_load_n("M12", "8.8")


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="not a metric size"):
        fasteners.thread("3/8 UNC")
    with pytest.raises(ValueError, match="No coarse pitch on file for M11"):
        fasteners.thread("M11")
    with pytest.raises(ValueError, match="does not belong"):
        fasteners.stress_area_mm2(8, 8)
    with pytest.raises(ValueError, match="diameter_mm must be above zero"):
        fasteners.stress_area_mm2(0, 1)
    with pytest.raises(ValueError, match=r"No property class '8\.9' on file"):
        fasteners.preload_at_yield_n("M12", "8.9", D("0.12"))
    with pytest.raises(ValueError, match=r"between 0 and 0\.5"):
        fasteners.preload_at_yield_n("M12", "8.8", D("12"))
    with pytest.raises(ValueError, match="fraction above 0"):
        fasteners.preload_at_yield_n("M12", "8.8", D("0.12"), 90)
    with pytest.raises(ValueError, match="up to M16"):
        fasteners.proof_load_n("M20x2.5", "8.8")
    with pytest.raises(ValueError, match="nothing to bear on"):
        fasteners.torque_long_nm("M10", 25000, thread_friction=D("0.1"), head_friction=D("0.1"), head_mm=10, hole_mm=11)
