"""Postings sum to zero, and a reversal takes every role back."""

from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop.calc import ledger
from workshop.calc.ledger import Posting

D = Decimal
CUSTOMER = UUID(int=7)
INVOICE = (
    Posting("receivable", D("383.40"), party_uid=CUSTOMER),
    Posting("sales", D("-311.71"), line_kind="labour", tax_code="standard"),
    Posting("output_tax", D("-71.69"), tax_code="standard"),
)


def test_an_invoice_balances() -> None:
    assert ledger.balance(INVOICE) == 0
    ledger.require_balanced(INVOICE)


def test_cash_rounding_is_a_posting_of_its_own() -> None:
    cash = (Posting("cash", D("343.55")), Posting("receivable", D("-343.53")), Posting("cash_rounding", D("-0.02")))
    ledger.require_balanced(cash)


def test_an_entry_that_is_out_by_a_coin_says_so() -> None:
    with pytest.raises(ValueError, match=r"out by 0\.01: receivable 343\.53, sales -312\.30, output_tax -31\.22"):
        ledger.require_balanced((Posting("receivable", D("343.53")), Posting("sales", D("-312.30")), Posting("output_tax", D("-31.22"))))


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="says nothing"):
        ledger.require_balanced(())
    with pytest.raises(ValueError, match="whole coins"):
        Posting("sales", D("1.005"))
    with pytest.raises(ValueError, match="must be a Decimal"):
        Posting("sales", 1.0)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="needs a role"):
        Posting("", D("1.00"))


def test_a_reversal_keeps_what_each_posting_is_about() -> None:
    turned = ledger.reverse(INVOICE)
    assert turned[0] == Posting("receivable", D("-383.40"), party_uid=CUSTOMER)
    assert ledger.reverse(turned) == INVOICE
    assert set(ledger.by_role((*INVOICE, *turned)).values()) == {D(0)}


@settings(max_examples=20, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(["receivable", "sales", "bank", "output_tax"]), st.integers(-(10**9), 10**9)), max_size=8))
def test_any_entry_with_its_reversal_is_nothing(rows: list[tuple[str, int]]) -> None:
    entry = tuple(Posting(role, D(coins).scaleb(-2)) for role, coins in rows)
    assert ledger.balance((*entry, *ledger.reverse(entry))) == 0
    assert all(total == 0 for total in ledger.by_role((*entry, *ledger.reverse(entry))).values())
