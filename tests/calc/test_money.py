"""Coins: rounding under named rules, shares that lose nothing, what people type."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop.calc import money

D = Decimal


@pytest.mark.parametrize(
    ("amount", "half_up", "half_down", "down"),
    [
        ("365.125", "365.13", "365.12", "365.12"),
        ("0.015", "0.02", "0.01", "0.01"),
        ("0.0151", "0.02", "0.02", "0.01"),
        ("0.0149", "0.01", "0.01", "0.01"),
        ("-0.125", "-0.13", "-0.12", "-0.12"),
        ("7", "7.00", "7.00", "7.00"),
    ],
)
def test_the_half_coin_goes_where_the_rule_says(amount: str, half_up: str, half_down: str, down: str) -> None:
    assert str(money.round_to_coin(D(amount))) == half_up
    assert str(money.round_to_coin(D(amount), "half_down")) == half_down
    assert str(money.round_to_coin(D(amount), "down")) == down


def test_no_amount_is_minus_nothing() -> None:
    assert str(money.round_to_coin(D("-0.001"))) == "0.00"
    assert str(money.parse_amount("-0", negative=True)) == "0.00"


def test_floats_unknown_rules_and_odd_coins_are_refused() -> None:
    with pytest.raises(ValueError, match="amount must be a Decimal or a whole number, not float"):
        money.round_to_coin(1.1)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="amount must be a Decimal"):
        money.round_to_coin(True)
    with pytest.raises(ValueError, match="no rounding rule 'even'"):
        money.round_to_coin(D(1), "even")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="above zero"):
        money.round_to_coin(D(1), coin=D(0))


# Cash in Australia: endings 1, 2 to 0; 3, 4, 6, 7 to 5; 8, 9 to 10. Source: published shop tables (20.42 to 20.40, 20.43 to 20.45).
@pytest.mark.parametrize(
    ("exact", "cash"),
    [
        ("20.40", "20.40"),
        ("20.41", "20.40"),
        ("20.42", "20.40"),
        ("20.43", "20.45"),
        ("20.44", "20.45"),
        ("20.45", "20.45"),
        ("20.46", "20.45"),
        ("20.47", "20.45"),
        ("20.48", "20.50"),
        ("20.49", "20.50"),
        ("343.53", "343.55"),
        ("528.09", "528.10"),
        ("528.07", "528.05"),
    ],
)
def test_cash_to_five(exact: str, cash: str) -> None:
    assert str(money.round_cash(D(exact))) == cash
    assert money.cash_difference(D(exact)) == D(cash) - D(exact)


# Cash in New Zealand: tens, a five goes down by the retailers' recommendation; each shop may choose. Source: published shopper's guide.
def test_cash_to_ten_with_the_five_down_or_up() -> None:
    endings = [money.round_cash(D("1.00") + D(ending) / 100, D("0.10"), "half_down") for ending in range(10)]
    assert [str(amount) for amount in endings] == ["1.00"] * 6 + ["1.10"] * 4
    assert money.round_cash(D("1.05"), D("0.10"), "half_up") == D("1.10")


def test_shares_go_by_largest_remainder_and_of_equal_ones_to_the_first() -> None:
    assert money.share(D("1.00"), [1, 1, 1]) == (D("0.34"), D("0.33"), D("0.33"))
    assert money.share(D("0.02"), [1, 5, 5]) == (D("0.00"), D("0.01"), D("0.01"))
    assert money.share(D("-1.00"), [1, 1, 1]) == (D("-0.34"), D("-0.33"), D("-0.33"))
    assert money.share(D("71.0"), [62, 56], D("0.1")) == (D("37.3"), D("33.7"))
    assert money.share(D("0.00"), [0, 0]) == (D("0.00"), D("0.00"))
    assert money.share(D("10.00"), [120, -20]) == (D("12.00"), D("-2.00"))


def test_what_cannot_be_shared_is_refused() -> None:
    with pytest.raises(ValueError, match="sum to zero"):
        money.share(D("1.00"), [0, 0])
    with pytest.raises(ValueError, match="sum to zero"):
        money.share(D("1.00"), [])
    with pytest.raises(ValueError, match=r"coins of 0\.01"):
        money.share(D("1.005"), [1])
    with pytest.raises(ValueError, match="weight must be"):
        money.share(D("1.00"), [0.5])  # type: ignore[list-item]


@settings(max_examples=20, deadline=None)
@given(st.integers(-(10**9), 10**9), st.lists(st.integers(1, 10**7), min_size=1, max_size=12))
def test_shares_add_up_and_each_lies_within_a_coin(coins: int, weights: list[int]) -> None:
    total = D(coins).scaleb(-2)
    parts = money.share(total, weights)
    assert sum(parts) == total
    assert all(abs(part * sum(weights) - total * weight) < money.COIN * sum(weights) for part, weight in zip(parts, weights, strict=True))


@pytest.mark.parametrize(
    ("typed", "amount"),
    [
        ("1,234.50", "1234.50"),
        ("1.234,50", "1234.50"),
        ("1234,5", "1234.50"),
        ("1234.5", "1234.50"),
        (" 12 ", "12.00"),
        ("12.", "12.00"),
        (".5", "0.50"),
        (",05", "0.05"),
        ("0", "0.00"),
        ("1 234.50", "1234.50"),
        ("1\u00a0234,50", "1234.50"),
        ("12\u202f345,5", "12345.50"),
        ("1'234.50", "1234.50"),
        ("1’234’567", "1234567.00"),
        ("1,234,567", "1234567.00"),
        ("1.234.567,8", "1234567.80"),
        ("007.10", "7.10"),
        ("999999999.99", "999999999.99"),
    ],
)
def test_what_people_type(typed: str, amount: str) -> None:
    assert str(money.parse_amount(typed)) == amount


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "Type an amount"),
        ("   ", "Type an amount"),
        ("abc", "abc is not an amount"),
        ("12a", "is not an amount"),
        ("1e3", "is not an amount"),
        ("NaN", "is not an amount"),
        ("inf", "is not an amount"),
        ("1_000", "is not an amount"),
        ("€12", "is not an amount"),
        ("١٢", "is not an amount"),
        ("1,23,4", "is not an amount"),
        ("1.2.3", "is not an amount"),
        ("1,234.5,0", "is not an amount"),
        ("12,34.50", "is not an amount"),
        ("1 2", "is not an amount"),
        ("--5", "is not an amount"),
        ("-", "is not an amount"),
        (".", "is not an amount"),
        ("1,234", r"1,234 can be read two ways: type 1234\.00 or 1\.23\."),
        ("12.500", r"two ways: type 12500\.00 or 12\.50\."),
        ("0.125", "0.125 has more than 2 places"),
        ("1234.567", "more than 2 places"),
        ("-5", "is below zero"),
        ("−5", "is below zero"),
        ("1000000000", "is too large"),
        ("9" * 500, "is too large"),
    ],
)
def test_nonsense_is_refused_with_a_sentence(typed: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        money.parse_amount(typed)


def test_a_minus_is_taken_where_it_has_a_meaning() -> None:
    assert money.parse_amount("-12,5", negative=True) == D("-12.50")
    assert money.parse_amount("− 12.50", negative=True) == D("-12.50")


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 99_999_999_999))
def test_every_amount_is_read_back_as_written(coins: int) -> None:
    amount = D(coins).scaleb(-2)
    grouped = f"{amount:,.2f}"
    assert money.parse_amount(f"{amount:.2f}") == amount
    assert money.parse_amount(grouped) == amount
    assert money.parse_amount(grouped.translate(str.maketrans(",.", ".,"))) == amount
