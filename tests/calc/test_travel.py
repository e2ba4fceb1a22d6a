"""The way there and back. Worked by hand."""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

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


RULE = {"base_amount": D("45.00"), "free_km": 10, "rate_per_km": D("0.62"), "rate_per_hour": D("46.00")}


def test_a_share_of_a_round_is_priced_like_a_way_of_its_own() -> None:
    """37.3 km of the round: 17.3 beyond the free 20 at 0.62 is 10.73 (10.726); 82 min at 46.00 is 62.87 (62.866)."""
    assert travel.driven(km=D("37.3"), minutes=82, **RULE) == travel.CallOut(D("45.00"), D("10.73"), D("62.87"), D("118.60"))
    assert travel.driven(km=68, minutes=82, **RULE) == call_out()


def test_minutes_of_a_round_are_split_in_whole_minutes() -> None:
    """96 over 82 and 56: 57.04 and 38.96 (by hand)."""
    assert travel.split_minutes(96, [82, 56]) == (57, 39)
    assert travel.split_minutes(0, [0, 0]) == (0, 0)
    with pytest.raises(ValueError, match="round_minutes must be whole minutes"):
        travel.split_minutes(D("9.5"), [1])  # type: ignore[arg-type]


TENTHS = st.integers(1, 6000).map(lambda tenths: D(tenths) / 10)


@given(st.lists(TENTHS, min_size=1, max_size=8), st.data())
def test_no_tenth_is_lost_and_nobody_pays_more_than_alone(alone: list[Decimal], data: st.DataObject) -> None:
    """A round that is no longer than all ways alone gives each at most the own way."""
    km = D(data.draw(st.integers(0, int(sum(alone) * 10)))) / 10
    parts = travel.split_round(km, alone)
    assert sum(parts) == km
    assert all(part <= own for part, own in zip(parts, alone, strict=True))
    for part, own in zip(parts, alone, strict=True):
        assert travel.driven(km=part, minutes=0, **RULE).net <= travel.driven(km=own, minutes=0, **RULE).net


def factor(moment: str, begins: str = "20:00", ends: str = "06:00") -> Decimal:
    return travel.start_factor(
        dt.datetime.fromisoformat(moment),
        night_begins=dt.time.fromisoformat(begins),
        night_ends=dt.time.fromisoformat(ends),
        night_factor=D("1.5"),
        weekend_factor=D("1.25"),
    )


@pytest.mark.parametrize(
    ("moment", "wanted"),
    [
        ("2026-11-25T19:59", "1"),  # a Wednesday
        ("2026-11-25T20:00", "1.5"),
        ("2026-11-26T05:59", "1.5"),
        ("2026-11-26T06:00", "1"),
        ("2026-11-27T23:59", "1.5"),  # Friday night
        ("2026-11-28T12:00", "1.25"),  # Saturday
        ("2026-11-29T23:00", "1.5"),  # Sunday night: the higher of the two, not both
        ("2026-11-30T07:00", "1"),
    ],
)
def test_night_and_weekend_go_by_the_start(moment: str, wanted: str) -> None:
    assert factor(moment) == D(wanted)


def test_a_night_within_one_day() -> None:
    assert [factor(f"2026-11-25T{at}", "01:00", "04:00") for at in ("00:59", "01:00", "03:59", "04:00")] == [1, D("1.5"), D("1.5"), 1]


def test_a_surcharge_is_rounded_by_itself() -> None:
    """137.63 x 0.5 is 68.815: up."""
    assert travel.surcharge(D("137.63"), D("1.5")) == D("68.82")
    assert travel.surcharge(D("137.63"), D(1)) == 0
    with pytest.raises(ValueError, match="factor must be 1 or more"):
        travel.surcharge(D("137.63"), D("0.9"))
