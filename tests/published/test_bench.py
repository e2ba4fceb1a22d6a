"""Engine, coolant and tyre sums against published figures."""

from decimal import Decimal

import pytest

from workshop.calc import coolant, engine, tyres, units

D = Decimal


# Source: constants of scipy 1.17.1 (kW; mechanical horsepower; metric horsepower).
def test_power_and_torque() -> None:
    power = engine.power_kw(400, 3000)
    assert abs(power - D("125.664")) <= D("0.001")
    assert abs(units.convert(power, "kW", "PS") - D("170.855")) <= D("0.001")
    assert abs(units.convert(power, "kW", "hp") - D("168.518")) <= D("0.001")
    imperial = engine.power_kw(units.convert(300, "lbf·ft", "N·m"), D("5252.113"))
    assert abs(units.convert(imperial, "kW", "hp") - 300) <= D("0.01")


# Source of the formula: a published compressor-outlet page (adiabatic, exponent 2/7); numbers are our own.
@pytest.mark.parametrize(
    ("inlet", "ratio", "efficiency", "outlet"),
    [(25, "2.0", "0.70", "118.28"), (25, "2.0", "1", "90.30"), (20, "1.8", "0.72", "94.45"), (30, "2.4", "0.75", "144.87")],
)
def test_compressor_outlet(inlet: int, ratio: str, efficiency: str, outlet: str) -> None:
    assert abs(engine.compressor_outlet_c(inlet, D(ratio), D(efficiency)) - D(outlet)) <= D("0.02")


# Source: International Standard Atmosphere, 101.325 kPa at sea level and 84.556 kPa at 1,500 m.
def test_one_gauge_reading_at_two_heights() -> None:
    gauge = units.convert(D("14.5"), "psi", "kPa")
    assert abs(engine.pressure_ratio(gauge, D("101.325")) - D("1.987")) <= D("0.002")
    assert abs(engine.pressure_ratio(gauge, D("84.556")) - D("2.182")) <= D("0.002")


# Source: Lange's Handbook table 5.13 (propylene, -33.3), ASHRAE fit in CoolProp 8.0.0 (-33.66 and -37.11); hence the band.
def test_freezing_points_lie_within_what_the_sources_say() -> None:
    assert abs(coolant.freeze_point_c("propylene", D("0.5")) + D("33.5")) <= D("1.5")
    assert abs(coolant.freeze_point_c("ethylene", D("0.5")) + 36) <= 2
    for part, ashrae in ((10, "-3.43"), (20, "-7.38"), (30, "-13.11"), (40, "-21.51"), (50, "-33.66")):
        assert abs(coolant.freeze_point_c("propylene", D(part) / 100) - D(ashrae)) <= D("1.3")


# Source: CoolProp 8.0.0, INCOMP::AEG at 33 %; our straight line between rows may be half a kelvin off.
def test_between_the_rows() -> None:
    assert abs(coolant.freeze_point_c("ethylene", D("0.33")) + D("18.12")) <= D("0.5")


# Source: arithmetic, volumes add up.
def test_mixing() -> None:
    assert round(coolant.drain_and_replace_l(8, D("0.30"), D("0.50")), 4) == D("2.2857")
    assert round(coolant.drain_and_replace_l(10, D("0.25"), D("0.50")), 4) == D("3.3333")
    assert round(coolant.drain_and_replace_l(10, D("0.60"), D("0.50"), 0), 4) == D("1.6667")
    assert coolant.after_topping_up(6, D("0.50"), D("1.5"), 0) == D("0.4")


# Source: tyredispatch.co.nz for 205/55R16 (632 mm, 504 turns a km); the others by the definition of the size.
@pytest.mark.parametrize(
    ("code", "diameter"),
    [
        ("205/55R16", "631.9"),
        ("265/65R17", "776.3"),
        ("265/70R17", "802.8"),
        ("225/45R17", "634.3"),
        ("195/65R15", "634.5"),
        ("285/75R16", "833.9"),
        ("235/85R16", "805.9"),
        ("275/70R17", "816.8"),
    ],
)
def test_tyre_diameters(code: str, diameter: str) -> None:
    assert tyres.diameter_mm(code) == D(diameter)


def test_turns_and_speeds() -> None:
    assert abs(tyres.turns_per_km("205/55R16") - 504) <= D("0.5")
    assert abs(tyres.true_speed(100, "265/65R17", "265/70R17") - D("103.414")) <= D("0.001")
    assert abs(tyres.road_speed_kmh(2000, D("0.79") * D("3.9"), "265/65R17") - D("94.988")) <= D("0.001")


# Source: forms as printed on two vehicle makers' tyre pages.
@pytest.mark.parametrize(
    ("code", "diameter"),
    [
        ("P215/65R15XL 95H", "660.5"),
        ("215/65R15 96H", "660.5"),
        ("LT235/85R16C", "805.9"),
        ("T145/80D18 103M", "689.2"),
        ("31x10.5 R15 LT", "787.4"),
        ("235/60 R18 103 H", "739.2"),
    ],
)
def test_sizes_as_printed(code: str, diameter: str) -> None:
    assert tyres.diameter_mm(code) == D(diameter)


# Source: UN Regulation 39, 5.3, with the examples of a published article.
@pytest.mark.parametrize(("true", "most"), [(50, 59), (70, 81), (90, 103), (110, 125), (130, 147)])
def test_what_a_speedometer_may_show(true: int, most: int) -> None:
    assert tyres.speedometer_may_show_kmh(true) == (true, most)
