"""Metric bolts: stress area, proof load, preload and torque. A class-and-size figure is never the maker's value and is labelled so."""

import re
from dataclasses import dataclass
from decimal import Decimal

from workshop.calc.units import PI, Number, measure, positive

_H = Decimal(3).sqrt() / 2  # height of the thread's triangle for a pitch of 1
_SIZE = re.compile(r"M(\d{1,2}(?:\.\d)?)(?:\s*[x×]\s*(\d(?:\.\d{1,2})?))?", re.IGNORECASE)

COARSE_MM = {Decimal(d): Decimal(p) for d, p in {"6": "1", "8": "1.25", "10": "1.5", "12": "1.75", "14": "2", "16": "2"}.items()}
# Proof, least yield in MPa up to M16. Source: ISO 898-1 as restated by published proof-load tables (8.8: 580, 10.9: 830, 12.9: 970).
STRESS_MPA = {"8.8": (580, 640), "10.9": (830, 940), "12.9": (970, 1100)}


@dataclass(frozen=True)
class Thread:
    """A metric thread: diameter and pitch in mm, with the diameters that follow from them (ISO 724)."""

    diameter_mm: Decimal
    pitch_mm: Decimal

    @property
    def pitch_diameter_mm(self) -> Decimal:
        """d2 = d - 3/4 H."""
        return self.diameter_mm - Decimal("0.75") * _H * self.pitch_mm

    @property
    def stress_diameter_mm(self) -> Decimal:
        """Mean of d2 and d3 = d - 17/12 H."""
        return (self.pitch_diameter_mm + self.diameter_mm - _H * self.pitch_mm * 17 / 12) / 2


def thread(size: str) -> Thread:
    """The thread of "M12" (coarse, on file for M6 to M16) or "M12x1.25". Raises ValueError for another form or size."""
    parts = _SIZE.fullmatch(size.strip())
    if parts is None:
        raise ValueError(f"{size!r} is not a metric size: write M12, or M12x1.25 for a fine thread.")
    diameter = Decimal(parts[1])
    if parts[2]:
        return _checked(diameter, Decimal(parts[2]))
    if diameter not in COARSE_MM:
        raise ValueError(f"No coarse pitch on file for M{parts[1]}: write the pitch with it, like M{parts[1]}x1.5.")
    return Thread(diameter, COARSE_MM[diameter])


def _checked(diameter: Decimal, pitch: Decimal) -> Thread:
    if pitch >= diameter / 2:
        raise ValueError(f"A pitch of {pitch} mm does not belong on a thread of {diameter} mm.")
    return Thread(diameter, pitch)


def stress_area_mm2(diameter_mm: Number, pitch_mm: Number) -> Decimal:
    """The area that carries, in mm2: pi/4 x ((d2 + d3) / 2)2. Raises ValueError for zero, negatives and a pitch too coarse to be one.

    Source: ISO 724 diameters and the formula of ISO 898-1, from memory; checked against published tables."""
    made = _checked(positive(diameter_mm, "diameter_mm"), positive(pitch_mm, "pitch_mm"))
    return PI / 4 * made.stress_diameter_mm**2


def _stress(property_class: str, size: Thread) -> tuple[int, int]:
    if property_class not in STRESS_MPA:
        raise ValueError(
            f"No property class {property_class!r} on file: {', '.join(STRESS_MPA)}. Without a known class there is no figure."
        )
    if size.diameter_mm > 16:
        raise ValueError("Stresses are on file up to M16 only.")
    return STRESS_MPA[property_class]


def proof_load_n(size: str, property_class: str) -> Decimal:
    """The proof load in newtons: proof stress x stress area. Raises ValueError for an unknown size or class. Source: ISO 898-1."""
    made = thread(size)
    return _stress(property_class, made)[0] * stress_area_mm2(made.diameter_mm, made.pitch_mm)


def preload_at_yield_n(size: str, property_class: str, friction: Number, utilisation: Number = Decimal("0.9")) -> Decimal:
    """Clamp in newtons at which tension and twist together use up `utilisation` of the least yield stress.

    F = u x Rp x As / sqrt(1 + 3 (3/2 x d2/d0 x (P / (pi d2) + 1.155 friction))2). `friction` is that of the thread and must come with its
    source. Raises ValueError for an unknown size or class, friction outside 0 to 0.5, utilisation outside 0 to 1.
    Source: the shape of VDI 2230, from memory."""
    made, mu, used = thread(size), measure(friction, "friction"), measure(utilisation, "utilisation")
    if not 0 <= mu <= Decimal("0.5"):
        raise ValueError(f"friction lies between 0 and 0.5, not {friction}.")
    if not 0 < used <= 1:
        raise ValueError(f"utilisation is a fraction above 0 and up to 1, not {utilisation}.")
    rise = made.pitch_mm / (PI * made.pitch_diameter_mm) + Decimal("1.155") * mu
    twist = Decimal("1.5") * made.pitch_diameter_mm / made.stress_diameter_mm * rise
    area = stress_area_mm2(made.diameter_mm, made.pitch_mm)
    return used * _stress(property_class, made)[1] * area / (1 + 3 * twist**2).sqrt()


def torque_short_nm(k: Number, preload_n: Number, diameter_mm: Number) -> Decimal:
    """T = K F d in N·m. K is an input with a source: published ones for one and the same bolt run from 0.12 to 0.30.

    Raises ValueError for anything not above zero."""
    return positive(k, "k") * positive(preload_n, "preload_n") * positive(diameter_mm, "diameter_mm") / 1000


def torque_long_nm(
    size: str, preload_n: Number, *, thread_friction: Number, head_friction: Number, head_mm: Number, hole_mm: Number
) -> Decimal:
    """T = F (0.16 P + 0.58 d2 thread_friction + (head + hole) / 4 x head_friction) in N·m; head is the bearing face's outer diameter.

    Raises ValueError for an unknown size, zero or negative values, a hole as wide as the head. Source: VDI 2230, from memory."""
    made, head, hole = thread(size), positive(head_mm, "head_mm"), positive(hole_mm, "hole_mm")
    if hole >= head:
        raise ValueError(f"A hole of {hole_mm} mm leaves a head of {head_mm} mm nothing to bear on.")
    in_thread = Decimal("0.16") * made.pitch_mm + Decimal("0.58") * made.pitch_diameter_mm * positive(thread_friction, "thread_friction")
    return positive(preload_n, "preload_n") * (in_thread + (head + hole) / 4 * positive(head_friction, "head_friction")) / 1000
