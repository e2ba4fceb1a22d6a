"""Bolts and wrenches against published tables. Generic tables differ from one another; that is why they are only a labelled fallback."""

from decimal import Decimal

import pytest

from workshop.calc import fasteners, torque

D = Decimal


# Source: EN ISO 898-1 table as printed at usefastener.com, three other pages agree; the fine threads are from memory.
@pytest.mark.parametrize(
    ("diameter", "pitch", "area"),
    [
        ("6", "1", "20.1"),
        ("8", "1.25", "36.6"),
        ("10", "1.5", "58.0"),
        ("12", "1.75", "84.3"),
        ("14", "2", "115"),
        ("16", "2", "157"),
        ("12", "1.5", "88.1"),
        ("14", "1.5", "125"),
        ("16", "1.5", "167"),
        ("8", "1", "39.2"),
        ("10", "1.25", "61.2"),
    ],
)
def test_stress_areas(diameter: str, pitch: str, area: str) -> None:
    assert abs(fasteners.stress_area_mm2(D(diameter), D(pitch)) / D(area) - 1) <= D("0.005")


# Source: "EN ISO 898-1" proof loads as printed by optimas and slsbearings, to three figures. M6 8.8 is printed 11,600 where 580 MPa on
# the area before rounding gives 11,672 (0.62 %), so 0.65 % is allowed.
@pytest.mark.parametrize(
    ("size", "loads"),
    [
        ("M6", (11600, 16700, 19500)),
        ("M8", (21200, 30400, 35500)),
        ("M10", (33700, 48100, 56300)),
        ("M12", (48900, 70000, 81800)),
        ("M14", (66700, 95500, 112000)),
        ("M16", (91000, 130000, 152000)),
    ],
)
def test_proof_loads(size: str, loads: tuple[int, ...]) -> None:
    for property_class, load in zip(("8.8", "10.9", "12.9"), loads, strict=True):
        assert abs(fasteners.proof_load_n(size, property_class) / load - 1) <= D("0.0065")


# Source: a published assembly manual's table for friction 0.12 (p. 8). Tables for one friction differ by a tenth, hence 12 %.
@pytest.mark.parametrize(
    ("size", "hole", "head", "printed"),
    [
        ("M6", "6.6", "8.9", ("9.9", "14", "17")),
        ("M8", "9", "11.6", ("24", "34", "41")),
        ("M10", "11", "14.6", ("48", "68", "81")),
        ("M12", "13.5", "16.6", ("85", "120", "145")),
        ("M14", "15.5", "19.6", ("135", "190", "230")),
        ("M16", "17.5", "22.5", ("210", "290", "350")),
    ],
)
def test_torque_at_nine_tenths_of_yield(size: str, hole: str, head: str, printed: tuple[str, ...]) -> None:
    mu = D("0.12")
    for property_class, value in zip(("8.8", "10.9", "12.9"), printed, strict=True):
        preload = fasteners.preload_at_yield_n(size, property_class, mu)
        found = fasteners.torque_long_nm(size, preload, thread_friction=mu, head_friction=mu, head_mm=D(head), hole_mm=D(hole))
        assert abs(found / D(value) - 1) <= D("0.12")


# Source: own arithmetic on the VDI 2230 coefficients (from memory), head 14.6 mm and hole 11 mm.
def test_long_and_short_form() -> None:
    mu = D("0.12")
    long = fasteners.torque_long_nm("M10", 25000, thread_friction=mu, head_friction=mu, head_mm=D("14.6"), hole_mm=11)
    assert abs(long - D("40.905")) <= D("0.01")
    assert fasteners.torque_short_nm(D("0.20"), 25000, 10) == 50


# Source: torqwrench.com, extension page (12 in, 6 in, 30 lbf·ft), and agentcalc.com (40 cm, 5 cm, 80 N·m; no correction at 90 degrees).
def test_wrench_with_an_extension() -> None:
    assert torque.wrench_setting(30, 12, 6) == 20
    assert abs(torque.wrench_setting(80, 400, 50) - D("71.1")) <= D("0.05")
    assert torque.wrench_setting(80, 400, 50, 90) == 80


# Source: engineersedge.com, extension pointing back, T L / (L - E); the values are our own.
def test_wrench_with_an_extension_pointing_back() -> None:
    assert round(torque.wrench_setting(42, 320, 45, 180), 1) == D("48.9")
    assert round(torque.wrench_setting(100, 450, 75), 3) == D("85.714")
    assert round(torque.wrench_setting(100, 450, 75, 45), 3) == D("89.457")
