"""Tax under each rule that a business may be bound to, against published examples where there are any."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop.calc import tax
from workshop.calc.tax import Line

D = Decimal


def lines(amounts: str, rate: str, code: str = "S") -> list[Line]:
    return [Line(D(amount), code, D(rate)) for amount in amounts.split()]


def test_tax_on_the_total_is_not_the_sum_of_tax_line_by_line() -> None:
    repair = lines("4.13 7.37 12.41 2.06 18.88", "0.22")  # worked by hand
    assert tax.document(repair).tax == D("9.87")
    assert tax.document(repair, per="line").tax == D("9.86")


# Source of the two rules: A New Tax System (Goods and Services Tax) Act 1999 (Australia) s 9-90(1)(a) and (b). The amounts are our own.
@pytest.mark.parametrize(
    ("amounts", "basis", "per_total", "per_line"),
    [
        ("0.45 0.45 0.45", "exclusive", "0.14", "0.15"),
        ("1.25 1.25 1.25", "exclusive", "0.38", "0.39"),
        ("12.35 8.45 3.25", "exclusive", "2.41", "2.42"),
        ("7.33 7.33 7.33 7.33 7.33", "inclusive", "3.33", "3.35"),
        (" ".join(["1.04"] * 10), "inclusive", "0.95", "0.90"),
    ],
)
def test_the_two_rules_of_the_australian_act(amounts: str, basis: tax.Basis, per_total: str, per_line: str) -> None:
    assert tax.document(lines(amounts, "0.10"), basis=basis).tax == D(per_total)
    assert tax.document(lines(amounts, "0.10"), basis=basis, per="line").tax == D(per_line)


# Source: one eleventh of the inclusive price (Australia), three twenty-thirds (New Zealand), one sixth (United Kingdom), 23/123 (Ireland).
@pytest.mark.parametrize(
    ("gross", "rate", "part"),
    [
        ("1100.00", "0.10", "100.00"),
        ("100.00", "0.10", "9.09"),
        ("82.50", "0.10", "7.50"),
        ("115.00", "0.15", "15.00"),
        ("99.99", "0.15", "13.04"),
        ("120.00", "0.20", "20.00"),
        ("100.00", "0.23", "18.70"),
        ("500.00", "0.22", "90.16"),
    ],
)
def test_tax_inside_a_gross_price(gross: str, rate: str, part: str) -> None:
    assert tax.from_gross(D(gross), D(rate)).tax == D(part)


# Source: Goods and Services Tax Act 1985 (New Zealand) s 19O lets half a cent go down; s 9-90 of the Australian Act takes it up.
def test_the_half_cent_goes_down_in_one_country_and_up_in_the_next() -> None:
    assert tax.from_net(D("0.10"), D("0.15"), "half_down").tax == D("0.01")
    assert tax.from_net(D("0.10"), D("0.15"), "half_up").tax == D("0.02")


# Source: Notice 700 para 17.5 (United Kingdom): a document priced net may round its total tax down.
def test_a_document_may_drop_the_fraction_where_the_law_lets_it() -> None:
    assert tax.from_net(D("99.99"), D("0.20"), "down").tax == D("19.99")
    assert tax.from_net(D("99.99"), D("0.20")).tax == D("20.00")


# Source: EN 16931 validation artefacts v1.3.16, ubl/examples/ubl-tc434-example1.xml (bases as published) and -example2.xml.
def test_en_16931_example_1() -> None:
    total = tax.document([*lines("183.23", "0.06", "S"), *lines("46.37", "0.21", "S")])
    assert [code.tax for code in total.codes] == [D("10.99"), D("9.74")]
    assert (total.net, total.tax, total.gross) == (D("229.60"), D("20.73"), D("250.33"))


def test_en_16931_example_2_where_half_even_would_be_a_coin_short() -> None:
    total = tax.document([*lines("1460.50", "0.25", "S"), *lines("1.00", "0.15", "S"), *lines("-25.00", "0", "E")])
    assert [code.tax for code in total.codes] == [D("365.13"), D("0.15"), D("0.00")]
    assert (total.net, total.tax, total.gross) == (D("1436.50"), D("365.28"), D("1801.78"))
    assert total.gross - D("1000.00") == D("801.78")


# Source: Peppol BIS Billing 3, rules/examples/base-example.xml and Allowance-example.xml.
def test_peppol_examples() -> None:
    assert tax.document(lines("2800.00 -1500.00 25.00", "0.25")).gross == D("1656.25")
    allowance = tax.document([*lines("4900.00", "0.25", "S"), *lines("1000.00", "0", "E")])
    assert (allowance.tax, allowance.gross, allowance.gross - 1000) == (D("1225.00"), D("7125.00"), D("6125.00"))


def test_an_irish_invoice() -> None:  # rate from checks of a real validator; the lines are our own
    total = tax.document(lines("237.50 64.95 9.26", "0.23"))
    assert (total.net, total.tax, total.gross) == (D("311.71"), D("71.69"), D("383.40"))


def test_one_code_at_two_rates_is_two_groups() -> None:
    total = tax.document([Line(D("10.00"), "S", D("0.20")), Line(D("10.00"), "S", D("0.22")), Line(D("5.00"), "S", D("0.20"))])
    assert [(code.code, code.rate, code.net, code.tax) for code in total.codes] == [
        ("S", D("0.20"), D("15.00"), D("3.00")),
        ("S", D("0.22"), D("10.00"), D("2.20")),
    ]


def test_an_empty_document_is_zero() -> None:
    assert (tax.document([]).net, tax.document([]).tax, tax.document([]).gross, tax.document([]).codes) == (0, 0, 0, ())


def test_a_promised_price_stays_the_promised_price() -> None:
    assert tax.document(lines("9.99 9.99 9.99", "0.22"), basis="inclusive").gross == D("29.97")
    stripped = [tax.from_gross(D("9.99"), D("0.22")).net] * 3
    assert tax.from_net(sum(stripped, D(0)), D("0.22")).gross == D("29.98")


def test_thirty_six_of_199_small_gross_prices_have_no_net() -> None:
    reached = {tax.from_net(D(coins) / 100, D("0.22")).gross for coins in range(200)}
    assert sum(D(coins) / 100 not in reached for coins in range(1, 200)) == 36


def test_a_deposit_a_final_bill_and_a_credit() -> None:
    deposit, final, credit = (
        tax.from_gross(D("500.00"), D("0.22")),
        tax.from_net(D("980.33"), D("0.22")),
        tax.from_net(D("38.00"), D("0.22")),
    )
    assert (deposit.net, deposit.tax) == (D("409.84"), D("90.16"))
    assert (final.net - deposit.net, final.tax - deposit.tax, final.gross - deposit.gross) == (D("570.49"), D("125.51"), D("696.00"))
    assert final.gross - deposit.gross - credit.gross == D("649.64")


def test_a_value_that_does_not_add_up_cannot_be_made() -> None:
    with pytest.raises(ValueError, match=r"10\.00 \+ 2\.20 is not 12\.21"):
        tax.Taxed(D("10.00"), D("2.20"), D("12.21"))


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match=r"22 % is 0\.22"):
        tax.from_net(D("10.00"), D(22))
    with pytest.raises(ValueError, match="tax_rate must be zero or more"):
        tax.from_net(D("10.00"), D("-0.1"))
    with pytest.raises(ValueError, match="net must be a Decimal"):
        tax.from_net(10.0, D("0.22"))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="whole coins"):
        Line(D("1.005"), "S", D("0.22"))
    with pytest.raises(ValueError, match="exclusive or inclusive"):
        tax.document([], basis="both")  # type: ignore[arg-type]


coins = st.integers(-(10**7), 10**7).map(lambda number: D(number).scaleb(-2))
rates = st.sampled_from([D("0"), D("0.06"), D("0.10"), D("0.15"), D("0.22"), D("0.25")])


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(coins, st.sampled_from("SEZ"), rates), max_size=8), st.sampled_from(["exclusive", "inclusive"]), st.booleans())
def test_a_document_and_its_credit_note_are_zero_for_every_code(rows: list, basis: tax.Basis, by_line: bool) -> None:
    per: tax.Per = "line" if by_line else "total"
    bill = tax.document([Line(*row) for row in rows], basis=basis, per=per)
    credit = tax.document([Line(-amount, code, rate) for amount, code, rate in rows], basis=basis, per=per)
    assert [(a.net + b.net, a.tax + b.tax) for a, b in zip(bill.codes, credit.codes, strict=True)] == [(0, 0)] * len(bill.codes)
    assert bill.gross == -credit.gross == bill.net + bill.tax


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(1, 10**6).map(lambda number: D(number).scaleb(-2)), min_size=1, max_size=8), rates)
def test_the_tax_shared_over_lines_is_the_tax(nets: list[Decimal], rate: Decimal) -> None:
    whole = tax.from_net(sum(nets, D(0)), rate).tax
    assert sum(tax.share_tax(whole, nets)) == whole


@given(st.lists(st.decimals("0.01", "5000", places=2), min_size=1, max_size=8), st.sampled_from([D("0.22"), D("0.10"), D("0.055"), D("0")]))
def test_parts_carry_the_tax_of_the_whole_and_each_is_within_a_coin_of_its_own(nets: list[D], rate: D) -> None:
    """The house's own rule, so that part invoices never come to more than the total that was agreed."""
    so_far = tax.Taxed(D("0.00"), D("0.00"), D("0.00"))
    for net in nets:
        part = tax.next_part(so_far, net, rate)
        assert abs(part.tax - tax.from_net(net, rate).tax) <= D("0.01")
        so_far = tax.Taxed(so_far.net + part.net, so_far.tax + part.tax, so_far.gross + part.gross)
    assert so_far == tax.from_net(sum(nets), rate)


def test_two_halves_rounded_by_themselves_would_be_a_coin_too_much() -> None:
    first = tax.next_part(tax.Taxed(D(0), D(0), D(0)), D("0.25"), D("0.22"))  # 0.055 goes up to 0.06; worked by hand
    assert (first.tax, tax.next_part(first, D("0.25"), D("0.22")).tax) == (D("0.06"), D("0.05"))
