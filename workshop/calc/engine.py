"""Engine sums: power and torque, charge air, compression. Observed figures come first, corrected ones second and by name."""

from collections.abc import Sequence
from decimal import Decimal

from workshop.calc.units import PI, Number, measure, positive

KELVIN = Decimal("273.15")
GAMMA_EXPONENT = Decimal(2) / 7  # (1.4 - 1) / 1.4 for air


def power_kw(torque_nm: Number, rpm: Number) -> Decimal:
    """P = 2 pi T n / 60,000 in kW, from N·m and revolutions a minute. Raises ValueError for negatives. Source: definition of power."""
    torque, speed = measure(torque_nm, "torque_nm"), measure(rpm, "rpm")
    if torque < 0 or speed < 0:
        raise ValueError(f"Torque and speed must be zero or more, not {torque_nm} and {rpm}.")
    return 2 * PI * torque * speed / 60000


def compressor_outlet_c(inlet_c: Number, pressure_ratio: Number, efficiency: Number) -> Decimal:
    """Air temperature in °C after a compressor: T2 = T1 (1 + (PR^(2/7) - 1) / efficiency), in kelvin between.

    Raises ValueError below a ratio of 1, for an efficiency outside 0 to 1, or an inlet below absolute zero. Source: adiabatic compression,
    gamma 1.4."""
    ratio, part = measure(pressure_ratio, "pressure_ratio"), measure(efficiency, "efficiency")
    if ratio < 1:
        raise ValueError(f"pressure_ratio is 1 or more, of absolute pressures, not {pressure_ratio}.")
    if not 0 < part <= 1:
        raise ValueError(f"efficiency is a fraction above 0 and up to 1, not {efficiency}.")
    inlet = positive(measure(inlet_c, "inlet_c") + KELVIN, "The inlet in kelvin")
    return inlet * (1 + (ratio**GAMMA_EXPONENT - 1) / part) - KELVIN


def pressure_ratio(gauge_kpa: Number, ambient_kpa: Number) -> Decimal:
    """(gauge + ambient) / ambient. The same gauge reading is another ratio at another height.

    Raises ValueError for an ambient or absolute pressure that is not above zero."""
    ambient = positive(ambient_kpa, "ambient_kpa")
    return positive(measure(gauge_kpa, "gauge_kpa") + ambient, "The absolute pressure") / ambient


def cooler_effectiveness(in_c: Number, out_c: Number, ambient_c: Number) -> Decimal:
    """(in - out) / (in - ambient), ambient at the core's face. Raises ValueError when the air is less than 15 K above ambient (noise).

    Also when the outlet reads colder than ambient: sensors are swapped, or one sits after a mixing. Source: definition, from memory."""
    warm, cool, ambient = measure(in_c, "in_c"), measure(out_c, "out_c"), measure(ambient_c, "ambient_c")
    if warm - ambient < 15:
        raise ValueError(f"Only {warm - ambient} K between inlet and ambient: too little to tell.")
    if cool < ambient:
        raise ValueError("The outlet reads colder than the ambient air: look whether the sensors are swapped.")
    return (warm - cool) / (warm - ambient)


def compression_lowest_part(readings_bar: Sequence[Number]) -> Decimal:
    """Lowest reading as a fraction of the highest. Makers' limits differ (0.75, 0.70, or a fixed difference): the limit needs a source.

    Raises ValueError for fewer than two readings or one that is not above zero."""
    readings = [positive(reading, "A reading") for reading in readings_bar]
    if len(readings) < 2:
        raise ValueError("A spread needs two cylinders or more.")
    return min(readings) / max(readings)
