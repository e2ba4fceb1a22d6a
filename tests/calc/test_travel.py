"""The way there and back. Worked by hand."""

from decimal import Decimal

import pytest

from workshop.calc import tax, travel

D = Decimal


def call_out(km: Decimal | int = 34, minutes: int = 41) -> travel.CallOut:
    return travel.call_out(
        km_each_way=km,
        minutes_each_way=minutes,
        base_amount=D("45.00"),
        free_km=10,
        rate_per_km=D("0.62"),
        rate_per_hour=D("46.00"),
    )


def test_thirty_four_kilometres_and_forty_one_minutes_each_way() -> None:
    assert call_out() == travel.CallOut(D("45.00"), D("29.76"), D("62.87"), D("137.63"))
    assert tax.from_net(call_out().net, D("0.22")).gross == D("167.91")


def test_within_the_free_kilometres_only_base_and_time() -> None:
    assert call_out(km=D("9.9"), minutes=0) == travel.CallOut(D("45.00"), D("0.00"), D("0.00"), D("45.00"))
    assert call_out(km=10, minutes=0).distance == 0
    assert call_out(km=D("10.1"), minutes=0).distance == D("0.12")


def test_farther_or_longer_never_costs_less() -> None:
    nets = [call_out(km, minutes).net for km in range(0, 60, 3) for minutes in (20, 21, 22)]
    assert all(a <= b for a, b in zip(nets, nets[3:], strict=False))


def test_one_round_is_split_as_each_would_have_driven_alone() -> None:
    assert travel.split_round(71, [62, 56]) == (D("37.3"), D("33.7"))
    assert sum(travel.split_round(D("70.96"), [62, 56, 3])) == D("71.0")


def test_nonsense_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="km_each_way must be zero or more"):
        call_out(km=-1)
    with pytest.raises(ValueError, match="km_each_way must be a Decimal"):
        call_out(km=34.0)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="whole minutes"):
        call_out(minutes=-1)
    with pytest.raises(ValueError, match="sum to zero"):
        travel.split_round(71, [])
    with pytest.raises(ValueError, match="alone_km must be zero or more"):
        travel.split_round(71, [62, -1])
