"""Money in, up to what is open, once."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import DatabaseError, connection, transaction

from tests.invoices import making
from workshop import clock
from workshop.history.models import Event
from workshop.invoices import actions, queries
from workshop.invoices.models import Payment
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
