"""bookkeeping:batches and bookkeeping:map_accounts: look at a span, write a batch of it."""

import uuid
from datetime import date
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.bookkeeping.test_write_batch import paid_invoice
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.models import Account, Batch
from workshop.history.models import Event
from workshop.ledger.actions import PostingIn, write_entry

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
BOOKS = "/books/"
NOVEMBER = {"from_on": "2026-11-01", "to_on": "2026-11-30"}


@pytest.fixture
def mapping():
    return actions.write_mapping(queries.suggested_accounts("vellmark"))


def test_the_preview_shows_what_waits_and_has_no_effect(as_bookkeeper, mapping):
    paid_invoice()
    before = Event.objects.count()
    text = as_bookkeeper.get(BOOKS, NOVEMBER).content.decode()
    for words in ("2,056.18", "8 postings", "Invoice, Osgood Plumtree", "Income:Labour", "Write batch"):
        assert words in text
    assert (Batch.objects.count(), Event.objects.count()) == (0, before)


def test_without_days_it_shows_last_month_and_this(as_owner, mapping):
    assert reverse("bookkeeping:batches") == BOOKS
    text = as_owner.get(BOOKS).content.decode()
    assert 'value="2026-10-01"' in text
    assert 'value="2026-11-25"' in text
    assert "Nothing waits" in text


def test_without_days_nothing_that_waits_is_hidden(as_owner, mapping):
    day = date(2026, 7, 3)
    write_entry(
        source_kind="payment", source_uid=uuid.uuid4(), reference="26-0001", dated_on=day, tax_point_on=day, words="An old one",
        postings=[PostingIn("bank", Decimal(10)), PostingIn("receivable", Decimal(-10))],
    )  # fmt: skip
    text = as_owner.get(BOOKS).content.decode()
    assert 'value="2026-07-03"' in text
    assert "An old one" in text
    assert "1 waiting" in as_owner.get(BOOKS, NOVEMBER).content.decode()


def test_the_button_writes_and_leads_to_the_batch(as_bookkeeper, mapping):
    paid_invoice()
    assert as_bookkeeper.post(BOOKS, NOVEMBER)["Location"] == reverse("bookkeeping:batch", args=[1])


def test_pressed_twice_the_second_says_that_nothing_waits(as_bookkeeper, mapping):
    paid_invoice()
    as_bookkeeper.post(BOOKS, NOVEMBER)
    answer = as_bookkeeper.post(BOOKS, NOVEMBER)
    assert answer.status_code == 422
    assert "Nothing waits from 2026-11-01 to 2026-11-30" in answer.content.decode()
    assert Batch.objects.count() == 1


def test_missing_accounts_are_listed_and_there_is_no_button(as_owner):
    paid_invoice()
    text = as_owner.get(BOOKS, NOVEMBER).content.decode()
    assert "No account yet for 7 cases" in text
    assert "sales, access parts, tax code standard, customer private" in text
    assert "Write batch" not in text
    answer = as_owner.post(BOOKS, NOVEMBER)
    assert answer.status_code == 422
    assert "No file was written." in answer.content.decode()


def test_the_suggested_accounts_are_taken_over(as_bookkeeper):
    assert as_bookkeeper.post(reverse("bookkeeping:map_accounts"))["Location"] == reverse("bookkeeping:mapping")
    assert Account.objects.count() == len(queries.suggested_accounts("vellmark"))
    assert Event.objects.latest("seq").kind == "bookkeeping.mapped"


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"from_on": "soon"}, "Write the day as"),
        ({"to_on": ""}, "Write the day as"),
        ({"from_on": "2026-12-01"}, "comes before the first day, 2026-12-01"),
    ],
)
def test_days_that_cannot_be_read_are_422_and_stay_typed(as_owner, mapping, wrong, sentence):
    answer = as_owner.post(BOOKS, {**NOVEMBER, **wrong})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert as_owner.get(BOOKS, {**NOVEMBER, **wrong}).status_code == 200


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_the_books_are_for_owner_and_bookkeeper(who, request):
    client = request.getfixturevalue(who)
    assert client.get(BOOKS).status_code == 403
    assert client.post(BOOKS, NOVEMBER).status_code == 403
    assert client.post(reverse("bookkeeping:map_accounts")).status_code == 403


def test_the_number_of_queries_does_not_grow(as_owner, mapping):
    paid_invoice()
    with CaptureQueriesContext(connection) as one:
        as_owner.get(BOOKS, NOVEMBER)
    paid_invoice({"name": "Ilse Brackwater"})
    paid_invoice({"name": "Tobin Marrow"})
    with CaptureQueriesContext(connection) as three:
        as_owner.get(BOOKS, NOVEMBER)
    assert len(three) == len(one) <= 10
