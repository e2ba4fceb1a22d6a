"""invoices:list: who owes what since when, in a constant number of queries."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.invoices import making
from workshop import clock
from workshop.invoices import actions, queries
from workshop.invoices.models import Document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
LIST = "/invoices/"


def issued(name="Osgood Plumtree"):
    return actions.issue_invoice(making.ADA, making.ready_card({"name": name}), request_uid=uuid.uuid4())


def paid(document, amount):
    return actions.take_payment(
        making.ADA, document, method="cash", amount=Decimal(amount), paid_on=dt.date(2026, 11, 25), request_uid=uuid.uuid4()
    )


def test_an_empty_list_says_what_to_do(as_office):
    assert reverse("invoices:list") == LIST
    assert "No invoice yet" in as_office.get(LIST).content.decode()


def test_each_state_has_its_word(as_office):
    paid(issued("Paid Person"), "1028.09")
    paid(issued("Part Person"), "28.09")
    issued("Open Person")
    actions.credit_invoice(making.ADA, issued("Wrong Person"), reason="Wrong person", request_uid=uuid.uuid4())
    text = as_office.get(LIST).content.decode()
    for word in ("paid", "part paid", "open", "credited", "credit note"):
        assert f'<span class="stamp">{word}</span>' in text
    assert "2,028.09" in text
    assert 'data-l="open">1,000.00<' in text
    assert 'data-l="open">1,028.09<' in text
    assert {str(each): each.left_amount for each in queries.documents()} == {
        str(each): queries.open_amount(each) for each in Document.objects.filter(kind="invoice")
    } | {"C26-0001": Decimal("1028.09")}
    with clock.frozen(dt.datetime(2026, 12, 24, 9, tzinfo=dt.UTC)):
        assert '<span class="stamp">overdue</span>' in as_office.get(LIST).content.decode()


def test_only_what_is_not_paid(as_office):
    paid(issued("Paid Person"), "1028.09")
    issued("Open Person")
    text = as_office.get(LIST + "?show=open").content.decode()
    assert "Open Person" in text
    assert "Paid Person" not in text


def test_the_number_of_queries_does_not_grow(as_office):
    issued()
    with CaptureQueriesContext(connection) as one:
        as_office.get(LIST)
    for name in ("Ilse Brackwater", "Tobin Marrow", "Wilhelmina Plumtree"):
        paid(issued(name), "10.00")
    with CaptureQueriesContext(connection) as four:
        as_office.get(LIST)
    assert len(four) == len(one) <= 8


def test_a_hostile_name_is_only_a_name(as_office):
    issued("<script>alert(1)</script>")
    assert "<script>alert" not in as_office.get(LIST).content.decode()
