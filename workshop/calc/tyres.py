"""Tyre sizes: nominal and unloaded. A rolling tyre is a little smaller; the placard decides what may be fitted."""

import re
from dataclasses import dataclass
from decimal import Decimal

from workshop.calc.units import PI, Number, positive

INCH_MM = Decimal("25.4")

_LOAD = r"(?:\s*\d{2,3}(?:/\d{2,3})?\s*\(?[A-Z]\)?)?"
_RIM = r"(\d{2}(?:\.5)?)"
_METRIC = re.compile(rf"(?:P|LT|T)?\s*(\d{{3}})\s*(?:/\s*(\d{{2,3}}))?\s*(?:ZR|R|D|B|-)\s*{_RIM}\s*(?:XL|LT|C)?{_LOAD}")
_INCHES = re.compile(rf"(\d{{2}}(?:\.\d{{1,2}})?)\s*[X×]\s*(\d{{1,2}}(?:\.\d{{1,2}})?)\s*(?:R|-)\s*{_RIM}\s*(?:LT)?{_LOAD}")


@dataclass(frozen=True)
class Size:
    """Outside diameter, width and rim, in mm, unloaded."""

    diameter_mm: Decimal
    width_mm: Decimal
    rim_mm: Decimal


def size(code: str) -> Size:
    """The size behind "205/55R16", "LT235/85R16C", "235/60 R18 103 H" or "31x10.5 R15 LT". No aspect ratio means 82.

    Raises ValueError for another form or for figures that no tyre has. Source of 82: United Kingdom inspection manual, as quoted."""
    text = code.strip().upper()
    if metric := _METRIC.fullmatch(text):
        width, aspect, rim = Decimal(metric[1]), Decimal(metric[2] or 82), Decimal(metric[3]) * INCH_MM
        made = Size(rim + 2 * width * aspect / 100, width, rim)
    elif inches := _INCHES.fullmatch(text):
        made = Size(Decimal(inches[1]) * INCH_MM, Decimal(inches[2]) * INCH_MM, Decimal(inches[3]) * INCH_MM)
    else:
        raise ValueError(f"{code!r} is not a tyre size: write it as it stands on the side, like 205/55R16.")
    if not (200 <= made.rim_mm <= 650 and made.rim_mm + 40 < made.diameter_mm < 1500 and 100 <= made.width_mm <= 500):
        raise ValueError(f"{code!r} is no size that a tyre has: look at the side again.")
    return made


def diameter_mm(code: str) -> Decimal:
    """Outside diameter in mm, nominal and unloaded: rim x 25.4 + 2 x width x aspect. Raises ValueError as `size`."""
    return size(code).diameter_mm


def turns_per_km(code: str) -> Decimal:
    """Turns in a kilometre at the unloaded diameter; on the road a few per cent more. Raises ValueError as `size`."""
    return 1_000_000 / (PI * diameter_mm(code))


def true_speed(indicated: Number, fitted_before: str, fitted_now: str) -> Decimal:
    """The speed when the speedometer shows `indicated`, right before the change of tyre. Raises ValueError as `size`."""
    return positive(indicated, "indicated") * diameter_mm(fitted_now) / diameter_mm(fitted_before)


def speedometer_may_show_kmh(true_kmh: Number) -> tuple[Decimal, Decimal]:
    """Least and most a speedometer may show: never less than true, at most a tenth and 4 km/h more. Source: UN R39, 5.3."""
    true = positive(true_kmh, "true_kmh")
    return true, true + true / 10 + 4


def road_speed_kmh(rpm: Number, ratio: Number, code: str) -> Decimal:
    """km/h at engine speed and overall ratio (gear x transfer x final), tyres unloaded. Raises ValueError as `size`."""
    return positive(rpm, "rpm") / positive(ratio, "ratio") * PI * diameter_mm(code) * 60 / 1_000_000
