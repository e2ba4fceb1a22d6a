"""Coolant strength: how much to draw off and put in, and where it freezes. The refractometer after mixing is the record, not this sum."""

from decimal import Decimal

from workshop.calc.units import Number, measure, positive

# Freezing points in °C of propylene glycol in water, by volume. Source: Lange's Handbook, table 5.13 (minus signs restored).
PROPYLENE_C = {0: Decimal(0), 10: Decimal("-2.2"), 20: Decimal("-6.7"), 30: Decimal("-12.8"), 40: Decimal("-20.6"), 50: Decimal("-33.3")}
# Ethylene glycol by volume. Source: the ASHRAE fit as computed by CoolProp 8.0.0 (INCOMP::AEG).
ETHYLENE_C = {
    0: Decimal(0),
    10: Decimal("-3.62"),
    20: Decimal("-8.98"),
    30: Decimal("-15.70"),
    40: Decimal("-24.80"),
    50: Decimal("-37.11"),
    60: Decimal("-52.02"),
}
TABLES = {"ethylene": ETHYLENE_C, "propylene": PROPYLENE_C}


def _fraction(value: Number, name: str) -> Decimal:
    number = measure(value, name)
    if not 0 <= number <= 1:
        raise ValueError(f"{name} is a fraction from 0 to 1, 50 % is 0.5, not {value}.")
    return number


def drain_and_replace_l(volume_l: Number, current: Number, target: Number, replacement: Number = 1) -> Decimal:
    """Litres to draw off and replace: V (target - current) / (replacement - current). Strengths by volume, as fractions; 0 is water.

    Raises ValueError for no volume, fractions outside 0 to 1, and a target that this replacement cannot reach.
    Volumes are taken to add up, which is near enough. Source: arithmetic."""
    volume, now = positive(volume_l, "volume_l"), _fraction(current, "current")
    wanted, fresh = _fraction(target, "target"), _fraction(replacement, "replacement")
    if wanted == now:
        return Decimal(0)
    if not (now < wanted <= fresh or fresh <= wanted < now):
        raise ValueError(f"From {now:%} no exchange against {fresh:%} leads to {wanted:%}: it must lie between the two.")
    return volume * (wanted - now) / (fresh - now)


def after_topping_up(volume_l: Number, current: Number, added_l: Number, added: Number) -> Decimal:
    """The strength, as a fraction, after adding to what is there.

    Raises ValueError for no volume, a negative addition, fractions outside 0 to 1."""
    volume, more = positive(volume_l, "volume_l"), measure(added_l, "added_l")
    if more < 0:
        raise ValueError(f"added_l must be zero or more, not {added_l}.")
    return (volume * _fraction(current, "current") + more * _fraction(added, "added")) / (volume + more)


def fill_l(volume_l: Number, staying_l: Number, staying: Number, target: Number) -> tuple[Decimal, Decimal]:
    """Litres of concentrate and of water into a system where some stays: C = target V - staying x V_staying, water = V - V_staying - C.

    Raises ValueError when it cannot be done in one go, saying the strength that can be reached. Source: arithmetic."""
    volume, left = positive(volume_l, "volume_l"), measure(staying_l, "staying_l")
    strength, wanted = _fraction(staying, "staying"), _fraction(target, "target")
    if not 0 <= left <= volume:
        raise ValueError(f"Between 0 and {volume_l} L can stay in, not {staying_l}.")
    concentrate, room = wanted * volume - strength * left, volume - left
    if concentrate > room:
        raise ValueError(
            f"It needs {concentrate:.2f} L into room for {room:.2f}: at most {(strength * left + room) / volume:.1%}. Drain more."
        )
    if concentrate < 0:
        raise ValueError(f"What stays is too strong: with water alone it is still {strength * left / volume:.1%}. Drain more.")
    return concentrate, room - concentrate


def freeze_point_c(glycol: str, fraction: Number) -> Decimal:
    """Freezing point in °C of "ethylene" or "propylene" glycol, fraction by volume, in a straight line between the rows.

    Raises ValueError for another glycol and above the table's end (60 % ethylene, 50 % propylene): more is not more protection, near 60 %
    it turns. Sources at the tables; they differ by up to 1.2 K, and the maker's own table comes before them."""
    if glycol not in TABLES:
        raise ValueError(f"There is no table for {glycol!r}: ethylene or propylene.")
    table, per_cent = TABLES[glycol], _fraction(fraction, "fraction") * 100
    if per_cent > max(table):
        raise ValueError(f"No figure above {max(table)} %: beyond about 60 % more concentrate protects less.")
    below = max(row for row in table if row <= per_cent)
    if below == per_cent:
        return table[below]
    return table[below] + (table[below + 10] - table[below]) * (per_cent - below) / 10
