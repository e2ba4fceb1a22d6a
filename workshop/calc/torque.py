"""What to set a torque wrench to. The maker's value decides; this only carries it to the tool."""

import math
from decimal import Decimal

from workshop.calc.units import Number, measure, positive

_SQUARE = {0: Decimal(1), 90: Decimal(0), 180: Decimal(-1)}


def wrench_setting(torque: Number, lever: Number, extension: Number, angle_deg: Number = 0) -> Decimal:
    """What the wrench is set to so that the nut gets `torque`: torque x L / (L + E cos angle), in the unit of `torque`, not rounded.

    `lever` L from the middle of the grip to the square, `extension` E from the square to the nut, in one unit; angle 0 straight ahead,
    90 square to the side, 180 pointing back. Right only when the hand pulls at the middle of the grip. Raises ValueError for a torque or
    lever of zero or less, a negative extension, an angle beyond 180, and an extension that points back to the hand or past it.
    Source: moments about the nut; the same formula stands at torqwrench.com."""
    wanted, length = positive(torque, "torque"), positive(lever, "lever")
    reach, angle = measure(extension, "extension"), measure(angle_deg, "angle_deg")
    if reach < 0:
        raise ValueError(f"extension must be zero or more, not {extension}: one that points back has an angle of 180.")
    if abs(angle) > 180:
        raise ValueError(f"angle_deg lies between -180 and 180, not {angle_deg}.")
    effective = length + reach * _cosine(angle)
    if effective <= 0:
        raise ValueError("The extension points back to the hand or past it: no setting gives this torque.")
    return wanted * length / effective


def _cosine(degrees: Decimal) -> Decimal:
    side = abs(degrees)
    return _SQUARE[int(side)] if side in _SQUARE else Decimal(repr(math.cos(math.radians(float(side)))))


def in_tool_range(setting: Number, lowest: Number, highest: Number) -> Decimal:
    """The setting, if the tool can be set to it. Raises ValueError that says which way it is out of range."""
    wanted = positive(setting, "setting")
    if not measure(lowest, "lowest") <= wanted <= measure(highest, "highest"):
        side = "below" if wanted < measure(lowest, "lowest") else "above"
        raise ValueError(f"{wanted:.1f} is {side} the tool's range of {lowest} to {highest}: take another tool or another extension.")
    return wanted
