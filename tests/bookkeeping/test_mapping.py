"""bookkeeping:mapping: every case with its account, what is missing on top, and what each event does."""

import datetime as dt
import re
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.bookkeeping.test_write_batch import NOVEMBER, paid_invoice, texts
from tests.invoices import making
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.models import Account
from workshop.history.models import Event
from workshop.ledger.actions import PostingIn, write_entry

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
ADDRESS = "/books/accounts/"
LABOUR = "sales|labour|standard|"


@pytest.fixture
def mapping():
    return actions.write_mapping(queries.suggested_accounts("vellmark"))


def typed(**changed):
    return {**{place.key: place.name for place in queries.places()}, "seen": queries.seen_of_accounts(), **changed}


def test_without_accounts_every_case_that_can_occur_is_missing(as_bookkeeper):
    assert reverse("bookkeeping:mapping") == ADDRESS
    text = as_bookkeeper.get(ADDRESS).content.decode()
    keys = re.findall(r'name="([a-z_]+\|[^"]*)"', text)
    assert {LABOUR, "output_tax||standard|", "receivable|||", "cash_rounding|||", "opening_equity|||"} <= set(keys)
    assert f"{len(keys)} without" in text
    assert "Take the suggested accounts" in text


def test_a_case_that_occurs_and_has_no_account_stands_on_top(as_owner, mapping):
    write_entry(
        source_kind="storno", source_uid=uuid.uuid4(), reference="X-1", dated_on=NOVEMBER[0], tax_point_on=NOVEMBER[0], words="New kind",
        postings=[PostingIn("tips", 5, customer_kind="firm"), PostingIn("bank", -5)],
    )  # fmt: skip
    text = as_owner.get(ADDRESS).content.decode()
    assert text.index("No account yet") < text.index('name="tips|||"') < text.index("What goes where") < text.index(f'name="{LABOUR}"')
    assert "1 posting<" in text
    assert re.search(r"<h3>Storno</h3><p>debit Tips</p><p>credit Bank</p>", text)


def test_each_event_is_told_in_words(as_owner, mapping):
    text = as_owner.get(ADDRESS).content.decode()
    assert re.search(r"<h3>An invoice</h3><p>debit Receivable</p><p>credit Sales labour, Sales parts, .*Output tax</p>", text)


def test_written_accounts_are_kept_with_what_they_were(as_bookkeeper, mapping):
    before = Event.objects.count()
    assert as_bookkeeper.post(ADDRESS, typed(**{LABOUR: "Income:Hours", "bank|||": ""}))["Location"] == ADDRESS
    assert Account.objects.get(role="sales", line_kind="labour").name == "Income:Hours"
    assert not Account.objects.filter(role="bank").exists()
    event = Event.objects.latest("seq")
    assert (Event.objects.count() - before, event.kind) == (1, "bookkeeping.mapped")
    told = event.payload
    assert "Income:Labour" in str(told)
    assert "Income:Hours" in str(told)


def test_one_case_more_for_firms(as_owner, mapping):
    more = {"another_role": "sales", "another_line_kind": "labour", "another_customer_kind": "firm", "another_name": "Income:Firms"}
    as_owner.post(ADDRESS, typed(**more, another_tax_code="standard"))
    assert queries.Mapping().account(("sales", "labour", "standard", "firm")) == "Income:Firms"
    assert queries.Mapping().account(("sales", "labour", "standard", "private")) == "Income:Labour"


def test_nothing_changed_is_told_and_not_recorded(as_owner, mapping):
    before = Event.objects.count()
    text = as_owner.post(ADDRESS, typed(), follow=True).content.decode()
    assert "Nothing was changed" in text
    assert Event.objects.count() == before


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({LABOUR: "Labour"}, "is no account. Begin with Assets"),
        ({LABOUR: "Income:labour"}, "is no account"),
        ({LABOUR: "Income:" + "X" * 90}, "At most 80"),
        ({"another_role": "sales"}, "Write the account of this case"),
        ({"another_name": "Income:More"}, "Choose what the account stands for"),
        ({"another_role": "moon", "another_name": "Income:More"}, "Choose one of the list"),
        (
            {"another_role": "sales", "another_line_kind": "labour", "another_tax_code": "standard", "another_name": "Income:More"},
            "in the list above",
        ),
        ({"seen": "an older sheet"}, "Somebody changed the accounts"),
    ],
)
def test_what_is_wrong_is_beside_its_box_and_nothing_is_written(as_bookkeeper, mapping, wrong, sentence):
    before = list(Account.objects.order_by("pk").values())
    answer = as_bookkeeper.post(ADDRESS, typed(**{"cash|||": "Assets:Till", **wrong}))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert 'value="Assets:Till"' in answer.content.decode()
    assert list(Account.objects.order_by("pk").values()) == before


def test_a_batch_keeps_its_accounts_and_the_next_has_the_new(as_bookkeeper, mapping):
    paid_invoice()
    old = actions.write_batch(making.ADA, *NOVEMBER)
    before = texts(old)
    as_bookkeeper.post(ADDRESS, typed(**{LABOUR: "Income:Hours"}))
    paid_invoice({"name": "Ilse Brackwater"})
    new = actions.write_batch(making.ADA, *NOVEMBER)
    assert texts(old) == before
    assert "Income:Hours" not in texts(old)["hledger"]
    assert "Income:Hours" in texts(new)["hledger"]


def test_the_mapping_of_a_batch_stands_in_its_side_file(mapping):
    paid_invoice()
    told = queries.control(actions.write_batch(making.ADA, *NOVEMBER))
    (row,) = [row for row in told["mapping"] if row["line_kind"] == "labour"]
    assert row == {"role": "sales", "line_kind": "labour", "tax_code": "standard", "customer_kind": "private", "account": "Income:Labour"}


def test_the_suggested_accounts_close_every_gap(mapping):
    assert [place for place in queries.places() if not place.name] == []


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_the_accounts_are_for_owner_and_bookkeeper(who, request):
    client = request.getfixturevalue(who)
    assert (client.get(ADDRESS).status_code, client.post(ADDRESS, {}).status_code) == (403, 403)


def test_the_number_of_queries_does_not_grow(as_owner, mapping):
    paid_invoice()
    with CaptureQueriesContext(connection) as one:
        as_owner.get(ADDRESS)
    day = dt.date(2026, 11, 3)
    for number in range(20):
        write_entry(
            source_kind="payment", source_uid=uuid.uuid4(), reference=f"P{number}", dated_on=day, tax_point_on=day, words="x",
            postings=[PostingIn("bank", 1, tax_code=f"c{number}"), PostingIn("cash", -1)],
        )  # fmt: skip
    with CaptureQueriesContext(connection) as many:
        as_owner.get(ADDRESS)
    assert len(many) == len(one) <= 16
