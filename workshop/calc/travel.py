"""Call-out and travel: what the way to the vehicle costs, and how one round is split between the customers on it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from workshop.calc.money import ZERO, not_negative, round_to_coin, share

TENTH_KM = Decimal("0.1")


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
    if type(minutes_each_way) is not int or minutes_each_way < 0:
        raise ValueError(f"minutes_each_way must be whole minutes of zero or more, not {minutes_each_way!r}.")
    beyond = max(ZERO, 2 * (not_negative(km_each_way, "km_each_way") - not_negative(free_km, "free_km")))
    base = round_to_coin(not_negative(base_amount, "base_amount"))
    distance = round_to_coin(beyond * not_negative(rate_per_km, "rate_per_km"))
    time = round_to_coin(2 * minutes_each_way * not_negative(rate_per_hour, "rate_per_hour") / 60)
    return CallOut(base, distance, time, base + distance + time)


def split_round(round_km: Decimal | int, alone_km: Sequence[Decimal | int]) -> tuple[Decimal, ...]:
    """The kilometres of one round to several customers, in the ratio of each there-and-back alone, in tenths that add up to the round.

    Raises ValueError when nobody is on the round, for negatives and floats. Source of the ratio: common practice, no source."""
    for km in alone_km:
        not_negative(km, "alone_km")
    return share(round_to_coin(not_negative(round_km, "round_km"), coin=TENTH_KM), alone_km, TENTH_KM)
