"""Money in, up to what is open, once."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import DatabaseError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.invoices import making
from workshop import clock
from workshop.history.models import Event
from workshop.invoices import actions, queries
from workshop.invoices.models import Allocation, Payment
from workshop.jobs.models import Role
from workshop.ledger import queries as ledger
from workshop.ledger.actions import close_books

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
ADA = making.ADA


@pytest.fixture
def document():
    return actions.issue_invoice(ADA, making.ready_card(), request_uid=uuid.uuid4())


def pay(document, amount="1028.09", **more):
    about = {"method": "bank", "amount": Decimal(amount), "paid_on": dt.date(2026, 11, 25), "request_uid": uuid.uuid4()}
    return actions.take_payment(ADA, document, **{**about, **more})


def state(document):
    return next(each.state for each in queries.listed() if each.pk == document.pk)


@pytest.mark.parametrize(("method", "role"), [("bank", "bank"), ("card", "card_clearing"), ("cash", "cash")])
def test_paid_in_full_is_posted_and_nothing_is_open(document, method, role):
    payment = pay(document, method=method)
    entry = ledger.of_source(payment.uid).get()
    assert {p.role: p.amount for p in entry.postings.all()} == {role: Decimal("1028.09"), "receivable": Decimal("-1028.09")}
    assert ledger.balance("receivable", document.payer.uid) == 0
    assert (queries.open_amount(document), state(document)) == (0, "paid")


def test_in_two_parts(document):
    pay(document, "500.00")
    assert (queries.open_amount(document), state(document)) == (Decimal("528.09"), "part paid")
    pay(document, "528.09", method="cash")
    assert state(document) == "paid"


def test_more_than_is_open_is_refused(document):
    pay(document, "1000.00")
    with pytest.raises(actions.Refused, match=r"28\.09 are open on .*, not 28\.10\."):
        pay(document, "28.10")
    assert Payment.objects.count() == 1


def test_nothing_is_open_any_more(document):
    pay(document)
    with pytest.raises(actions.Refused, match="Nothing is open"):
        pay(document, "0.01")


@pytest.mark.parametrize("amount", ["0.00", "-5.00"])
def test_nothing_or_less_is_refused(document, amount):
    with pytest.raises(actions.Refused, match="Nothing was paid"):
        pay(document, amount)


def test_tomorrows_money_is_refused(document):
    with pytest.raises(actions.Refused, match="2026-11-26 has not come yet"):
        pay(document, paid_on=dt.date(2026, 11, 26))


def test_a_closed_day_is_refused(document):
    with clock.frozen(dt.datetime(2026, 12, 5, 8, tzinfo=dt.UTC)):
        close_books(ADA, dt.date(2026, 11, 30), "early")
        with pytest.raises(actions.Refused, match="closed through 2026-11-30"), transaction.atomic():
            pay(document, paid_on=dt.date(2026, 11, 27))
    assert not Payment.objects.exists()


def test_the_same_request_is_one_payment(document):
    request = uuid.uuid4()
    first = pay(document, "500.00", request_uid=request)
    events = Event.objects.count()
    assert pay(document, "500.00", request_uid=request) == first
    assert (Payment.objects.count(), Event.objects.count()) == (1, events)
    assert queries.open_amount(document) == Decimal("528.09")


def test_one_line_of_history(document):
    before = Event.objects.count()
    pay(document)
    assert (Event.objects.count() - before, Event.objects.latest("seq").kind) == (1, "payment.taken")


def test_overdue_after_the_last_day(document):
    with clock.frozen(dt.datetime(2026, 12, 9, 12, tzinfo=dt.UTC)):
        assert state(document) == "open"
    with clock.frozen(dt.datetime(2026, 12, 10, 12, tzinfo=dt.UTC)):
        assert state(document) == "overdue"


@pytest.mark.parametrize("sql", ["UPDATE invoices_payment SET amount = 1", "DELETE FROM invoices_allocation"])
def test_nobody_changes_a_payment(document, sql):
    pay(document)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


CREDIT = "customer_credit"


def take(*documents, amount="1028.09", **more):
    about = {"method": "bank", "amount": Decimal(amount), "paid_on": dt.date(2026, 11, 25), "request_uid": uuid.uuid4()}
    return actions.take_for(ADA, more.pop("party", None) or documents[0].payer, documents, **{**about, **more})


def another(document):
    """A second invoice of the same payer."""
    card = making.card_of()
    Role.objects.filter(card=card).update(party=document.payer)
    made = making.belt_and_pump(card)
    making.accept(card)
    making.finish(*made.values())
    return actions.issue_invoice(ADA, card, request_uid=uuid.uuid4())


def posted(payment):
    return {p.role: p.amount for p in ledger.of_source(payment.uid).latest("pk").postings.all()}


def test_of_a_card_payment_the_fee_is_posted_apart(document):
    payment = pay(document, method="card", fee=Decimal("14.40"))
    amounts = ("1013.69", "14.40", "-1028.09")
    assert posted(payment) == dict(zip(("card_clearing", "card_fees", "receivable"), map(Decimal, amounts), strict=True))
    assert queries.open_amount(document) == 0


@pytest.mark.parametrize(("method", "fee"), [("bank", "1.00"), ("cash", "1.00"), ("card", "1028.09"), ("card", "-1.00")])
def test_a_fee_that_cannot_be_is_refused(document, method, fee):
    with pytest.raises(actions.Refused, match="A fee is kept back of a card payment only"):
        pay(document, method=method, fee=Decimal(fee))


@pytest.mark.parametrize(
    ("before", "cash", "rounding"), [("0", "1028.10", "-0.01"), ("0.02", "1028.05", "0.02"), ("0.04", "1028.05", None)]
)
def test_cash_in_the_smallest_coin_settles_it_and_the_difference_is_posted_apart(document, before, cash, rounding):
    """Coins of 0.05, half up: published for Australia (reg 168-5.11 GST Regulations 2019, by analogy); Vellmark's rule is invented."""
    if Decimal(before):
        pay(document, before)
    payment = pay(document, cash, method="cash")
    assert queries.open_amount(document) == 0
    assert posted(payment).get("cash_rounding") == (Decimal(rounding) if rounding else None)
    assert posted(payment)["cash"] == Decimal(cash)
    assert list(queries.problems()) == []


def test_one_payment_on_two_invoices_the_longest_due_first(document):
    second = another(document)
    payment = take(document, second, amount="1500.00")
    assert [queries.open_amount(each) for each in (document, second)] == [0, Decimal("556.18")]
    assert posted(payment) == {"bank": Decimal("1500.00"), "receivable": Decimal("-1500.00")}
    assert list(queries.problems()) == []


def test_too_much_is_credit_only_when_that_is_wanted_and_is_used_later(document):
    with pytest.raises(actions.Refused, match="tick that the rest is kept as credit"):
        pay(document, "1100.00")
    payment = pay(document, "1100.00", keep_rest=True)
    assert posted(payment)[CREDIT] == Decimal("-71.91")
    second, request = another(document), uuid.uuid4()
    for _ in range(2):
        assert actions.use_credit(ADA, document.payer, [second], request_uid=request) == Decimal("71.91")
    assert queries.open_amount(second) == Decimal("956.18")
    assert (queries.free_money(document.payer), ledger.balance(CREDIT)) == ({}, 0)
    with pytest.raises(actions.Conflict, match="used the credit already"):
        actions.use_credit(ADA, document.payer, [document], request_uid=request)
    with pytest.raises(actions.Refused, match="no credit to use"):
        actions.use_credit(ADA, document.payer, [second], request_uid=uuid.uuid4())
    assert list(queries.problems()) == []


def test_money_before_any_invoice_is_credit(document):
    payer = document.payer
    take(party=payer, amount="50.00", paid_on=dt.date(2026, 11, 1), keep_rest=True)
    assert sum(queries.free_money(payer).values()) == Decimal("50.00")
    with pytest.raises(actions.Refused, match="No invoice is ticked"):
        take(party=payer, amount="50.00")
    assert actions.use_credit(ADA, payer, [document], request_uid=uuid.uuid4()) == Decimal("50.00")
    assert list(queries.problems()) == []


def test_given_back_is_posted_the_opposite_way(document):
    pay(document, "1100.00", keep_rest=True)
    about = {"method": "bank", "amount": Decimal("70.00"), "paid_on": dt.date(2026, 11, 25), "request_uid": uuid.uuid4()}
    refund = actions.give_back(ADA, document.payer, **about)
    assert actions.give_back(ADA, document.payer, **about) == refund
    assert posted(refund) == {"bank": Decimal("-70.00"), CREDIT: Decimal("70.00")}
    assert sum(queries.free_money(document.payer).values()) == Decimal("1.91")
    with pytest.raises(actions.Conflict):
        actions.give_back(ADA, document.payer, **{**about, "amount": Decimal("1.00")})
    for amount, said in (("1.92", "has a credit of 1.91, not 1.92"), ("0.00", "Nothing goes back")):
        with pytest.raises(actions.Refused, match=said):
            actions.give_back(ADA, document.payer, **{**about, "amount": Decimal(amount), "request_uid": uuid.uuid4()})
    assert list(queries.problems()) == []


def test_invoices_of_two_payers_are_not_one_payment(document):
    stranger = actions.issue_invoice(ADA, making.ready_card({"name": "Ilse Brackwater"}), request_uid=uuid.uuid4())
    with pytest.raises(actions.Refused, match="more than one payer"):
        take(document, stranger, amount="2000.00")


@pytest.mark.parametrize(
    "other",
    [{"amount": "500.01"}, {"method": "cash"}, {"paid_on": dt.date(2026, 11, 24)}, {"reference": "slip 2"}, {"fee": Decimal("1.00")}],
)
def test_the_same_number_with_other_content_is_a_conflict(document, other):
    about = {"amount": "500.00", "request_uid": uuid.uuid4()}
    pay(document, **about)
    with pytest.raises(actions.Conflict, match=r"took 500\.00 by bank transfer already"):
        pay(document, **{**about, **other})
    second = another(document)
    with pytest.raises(actions.Conflict):
        pay(second, **about)
    assert Payment.objects.count() == 1


def test_its_line_of_history_names_the_vehicle(document):
    pay(document)
    event = Event.objects.latest("seq")
    assert (event.kind, event.card_id, event.vehicle_id) == ("payment.taken", document.card_id, document.card.vehicle_id)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(
        st.tuples(st.sampled_from(["pay", "credit", "use", "back"]), st.integers(1, 150000), st.sampled_from(["bank", "card", "cash"])),
        max_size=8,
    )
)
def test_whatever_comes_in_and_goes_out_the_books_and_the_lists_agree(document, deeds):
    """Allocations never exceed a payment, no invoice is overpaid, receivables and credit are what the ledger says (queries.problems)."""
    today, payer = dt.date(2026, 11, 25), document.payer
    with transaction.atomic():
        for deed, coins, method in deeds:
            amount, number = Decimal(coins).scaleb(-2), uuid.uuid4()
            try:
                with transaction.atomic():
                    if deed == "pay":
                        take(document, amount=amount, method=method, keep_rest=True)
                    elif deed == "credit":
                        actions.credit_invoice(ADA, document, reason="why", request_uid=number, amounts={1 + coins % 7: amount})
                    elif deed == "use":
                        actions.use_credit(ADA, payer, [document], request_uid=number)
                    else:
                        actions.give_back(ADA, payer, method=method, amount=amount, paid_on=today, request_uid=number)
            except actions.Refused as refusal:
                assert str(refusal).endswith(".")
            assert list(queries.problems()) == []
        transaction.set_rollback(True)


def test_money_used_twice_is_found_when_everything_is_added_up(document):
    payment = pay(document, "500.00")
    Allocation.objects.create(payment=payment, document=document, amount=Decimal("1.00"))
    found = " ".join(queries.problems())
    for sentence in ("over 500.00 is used for 501.00.", "527.09 are open on invoices, the books say 528.09.", "have a credit of -1.00"):
        assert sentence in found
