"""Call-out and travel: what the way to the vehicle costs, and how one round is split between the customers on it."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time
from decimal import Decimal

from workshop.calc.money import ZERO, exact, not_negative, round_to_coin, share

TENTH_KM = Decimal("0.1")
ONE = Decimal(1)
SATURDAY = 5


@dataclass(frozen=True)
class CallOut:
    """The three parts of a call-out, each a priced line in whole coins, and their sum, all net."""

    base: Decimal
    distance: Decimal
    time: Decimal
    net: Decimal


def call_out(
    *,
    km_each_way: Decimal | int,
    minutes_each_way: int,
    base_amount: Decimal,
    free_km: Decimal | int,
    rate_per_km: Decimal,
    rate_per_hour: Decimal,
) -> CallOut:
    """Net price of driving there and back: base + max(0, 2 x km - 2 x free) x rate_per_km + 2 x minutes x rate_per_hour / 60.

    Kilometres by road one way (a straight line is never billed), minutes one way, money in coins, each part rounded by itself half up.
    Raises ValueError, by name, for floats and negatives. Formula: the house's own rule."""
    return driven(
        km=2 * not_negative(km_each_way, "km_each_way"),
        minutes=2 * _whole_minutes(minutes_each_way, "minutes_each_way"),
        base_amount=base_amount,
        free_km=free_km,
        rate_per_km=rate_per_km,
        rate_per_hour=rate_per_hour,
    )


def driven(
    *,
    km: Decimal | int,
    minutes: int,
    base_amount: Decimal,
    free_km: Decimal | int,
    rate_per_km: Decimal,
    rate_per_hour: Decimal,
) -> CallOut:
    """As call_out, from what is driven there and back together, or from a share of a round; free_km stays each way.

    Raises ValueError, by name, for floats and negatives. Formula: the house's own rule."""
    beyond = max(ZERO, not_negative(km, "km") - 2 * not_negative(free_km, "free_km"))
    base = round_to_coin(not_negative(base_amount, "base_amount"))
    distance = round_to_coin(beyond * not_negative(rate_per_km, "rate_per_km"))
    time_part = round_to_coin(_whole_minutes(minutes, "minutes") * not_negative(rate_per_hour, "rate_per_hour") / 60)
    return CallOut(base, distance, time_part, base + distance + time_part)


def _whole_minutes(minutes: int, name: str) -> int:
    if type(minutes) is not int or minutes < 0:
        raise ValueError(f"{name} must be whole minutes of zero or more, not {minutes!r}.")
    return minutes


def split_round(round_km: Decimal | int, alone_km: Sequence[Decimal | int]) -> tuple[Decimal, ...]:
    """The kilometres of one round to several customers, in the ratio of each there-and-back alone, in tenths that add up to the round.

    Raises ValueError when nobody is on the round, for negatives and floats. Source of the ratio: common practice, no source."""
    for km in alone_km:
        not_negative(km, "alone_km")
    return share(round_to_coin(not_negative(round_km, "round_km"), coin=TENTH_KM), alone_km, TENTH_KM)


def split_minutes(round_minutes: int, alone_minutes: Sequence[int]) -> tuple[int, ...]:
    """The minutes driven on one round to several customers, split as split_round splits kilometres, in whole minutes that add up.

    Raises ValueError when nobody is on the round, for negatives and floats. Source of the ratio: common practice, no source."""
    alone = [_whole_minutes(minutes, "alone_minutes") for minutes in alone_minutes]
    return tuple(int(part) for part in share(_whole_minutes(round_minutes, "round_minutes"), alone, ONE))


def surcharge(net: Decimal, factor: Decimal) -> Decimal:
    """What a factor of 1 or more puts on a net price, in whole coins, rounded by itself. Raises ValueError for a factor below 1."""
    if exact(factor, "factor") < 1:
        raise ValueError(f"factor must be 1 or more, not {factor}.")
    return round_to_coin(not_negative(net, "net") * (factor - 1))


def start_factor(starts_at: datetime, *, night_begins: time, night_ends: time, night_factor: Decimal, weekend_factor: Decimal) -> Decimal:
    """The factor for a start in local time: by night, on Saturday or Sunday, the higher of the two when both hold, else 1.

    The night includes its first minute and not its last, and may run over midnight. A factor below 1 counts as 1: it is a surcharge.
    Source: the house's own rule."""
    at = starts_at.time()
    night = night_begins <= at < night_ends if night_begins < night_ends else at >= night_begins or at < night_ends
    weekend = starts_at.weekday() >= SATURDAY
    return max(ONE, night_factor if night else ONE, weekend_factor if weekend else ONE)
