"""bookkeeping:opening and bookkeeping:take_back: what was brought over is one balanced entry."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.bookkeeping.test_write_batch import READERS, journal, read_by
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.models import BroughtOver
from workshop.customers.models import Party
from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.ledger import actions as ledger
from workshop.ledger import queries as books
from workshop.ledger.models import Entry

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
OPENING, BACK = "/books/opening/", "/books/opening/back/"
ADA = Actor.system("Ada Quillfeather")
OWED = 'customer,number,due,amount\nOsgood Plumtree,A-17,2026-10-15,120.00\nosgood plumtree;A-18;;"1,030.50"'


@pytest.fixture
def people():
    Party.objects.create(name="Ilse Brackwater")
    return Party.objects.create(name="Osgood Plumtree")


def typed(**changed):
    about = {"uid": str(uuid.uuid4()), "as_of": "2026-10-31", "bank": "2,500.00", "cash": "80", "tax_standard": "310.40", "owed": OWED}
    return {**about, **changed}


def test_it_is_one_balanced_entry(as_bookkeeper, people):
    assert (reverse("bookkeeping:opening"), reverse("bookkeeping:take_back")) == (OPENING, BACK)
    before = Event.objects.count()
    assert as_bookkeeper.post(OPENING, typed())["Location"] == OPENING
    entry = Entry.objects.get()
    assert (entry.source_kind, entry.dated_on) == ("opening", dt.date(2026, 10, 31))
    assert [(posting.role, posting.amount) for posting in entry.postings.order_by("position")] == [
        ("bank", Decimal("2500.00")),
        ("cash", Decimal("80.00")),
        ("receivable_before", Decimal("120.00")),
        ("receivable_before", Decimal("1030.50")),
        ("output_tax", Decimal("-310.40")),
        ("opening_equity", Decimal("-3420.10")),
    ]
    assert books.balance("receivable_before", people.uid) == Decimal("1150.50")
    assert list(BroughtOver.objects.order_by("pk").values_list("number", "due_on")) == [("A-17", dt.date(2026, 10, 15)), ("A-18", None)]
    assert (Event.objects.count() - before, Event.objects.latest("seq").kind) == (1, "bookkeeping.opened")
    text = as_bookkeeper.get(OPENING).content.decode()
    for words in ("A-17", "1,030.50", "Opening equity", "Take the balances back"):
        assert words in text


def test_the_same_sheet_twice_is_one_entry(as_bookkeeper, people):
    sheet = typed()
    assert as_bookkeeper.post(OPENING, sheet).status_code == as_bookkeeper.post(OPENING, sheet).status_code == 302
    assert (Entry.objects.count(), BroughtOver.objects.count()) == (1, 2)


def test_a_second_opening_is_refused(as_bookkeeper, people):
    as_bookkeeper.post(OPENING, typed())
    answer = as_bookkeeper.post(OPENING, typed())
    assert answer.status_code == 422
    assert Entry.objects.count() == 1


@pytest.mark.parametrize("owed", [OWED.replace(",", "\t").replace('"1\t030.50"', "1030.50"), OWED])
def test_comma_semicolon_or_tab(as_owner, people, owed):
    as_owner.post(OPENING, typed(owed=owed))
    assert books.balance("receivable_before") == Decimal("1150.50")


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"as_of": ""}, "Write the day as"),
        ({"as_of": "2026-11-26"}, "has not come"),
        ({"bank": "much"}, "much"),
        ({"bank": "2,000,000.00"}, "is more than"),
        ({"bank": "-2,000,000.00"}, "is more than"),
        ({"cash": "1.234"}, "two ways"),
        ({"tax_standard": "NaN"}, "NaN"),
        ({"owed": "Osgood Plumtree,A-17,120.00"}, "Line 1, whole: 3 cells, not four"),
        ({"owed": "Nobody,A-17,,120.00\n,,never,0"}, "Line 2, amount"),
        ({"owed": "Nobody,A-17,,120.00\n,,never,0"}, "Line 1, customer: no customer is called Nobody"),
        ({"owed": "Osgood Plumtree,A-17,,5\nOSGOOD PLUMTREE,A-17,,6"}, "Line 2, number: A-17 of OSGOOD PLUMTREE is there twice"),
        ({"owed": "Osgood Plumtree,A-17,,-5"}, "below zero"),
        ({"uid": "x"}, "lost its number"),
        ({"bank": "", "cash": "", "tax_standard": "", "owed": ""}, "no amount to post"),
    ],
)
def test_what_is_wrong_is_told_by_box_and_line_and_nothing_is_entered(as_bookkeeper, people, wrong, sentence):
    answer = as_bookkeeper.post(OPENING, typed(**wrong))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Entry.objects.exists()
    assert not BroughtOver.objects.exists()


def test_two_of_one_name_are_put_together_first(as_owner, people):
    Party.objects.create(name="Osgood Plumtree")
    assert "2 customers are called" in as_owner.post(OPENING, typed()).content.decode()


def test_it_lies_before_the_first_entry(as_owner, people):
    day = dt.date(2026, 10, 31)
    ledger.write_entry(
        source_kind="payment", source_uid=uuid.uuid4(), reference="P-1", dated_on=day, tax_point_on=day, words="x",
        postings=[ledger.PostingIn("bank", 1), ledger.PostingIn("receivable", -1)],
    )  # fmt: skip
    answer = as_owner.post(OPENING, typed())
    assert answer.status_code == 422
    assert "would count twice" in answer.content.decode()
    assert as_owner.post(OPENING, typed(as_of="2026-10-30")).status_code == 302


def test_an_overdrawn_account_and_no_more(as_owner, people):
    as_owner.post(OPENING, typed(bank="-40.00", cash="", tax_standard="", owed=""))
    assert (books.balance("bank"), books.balance("opening_equity")) == (Decimal("-40.00"), Decimal("40.00"))


def test_taken_back_by_the_opposite_and_entered_anew(as_owner, people):
    as_owner.post(OPENING, typed())
    entry = Entry.objects.get()
    tap = {"about": str(entry.uid), "reason": "The bank was wrong"}
    assert as_owner.post(BACK, tap)["Location"] == OPENING
    assert Entry.objects.get(reverses=entry).dated_on == entry.dated_on
    assert books.balance("bank") == books.balance("opening_equity") == 0
    assert as_owner.post(BACK, tap).status_code == 422
    assert as_owner.post(OPENING, typed(bank="2,600.00")).status_code == 302
    assert books.balance("bank") == Decimal("2600.00")
    assert queries.opening().entry != entry


@pytest.mark.parametrize("wrong", [{"reason": ""}, {"about": ""}, {"about": str(uuid.uuid4())}])
def test_taking_back_is_refused(as_owner, people, wrong):
    as_owner.post(OPENING, typed())
    answer = as_owner.post(BACK, {"about": str(Entry.objects.get().uid), "reason": "why", **wrong})
    assert answer.status_code == 422
    assert Entry.objects.count() == 1


def test_a_closed_day_takes_none(as_owner, people):
    ledger.close_books(ADA, dt.date(2026, 10, 31), "closed")
    answer = as_owner.post(OPENING, typed())
    assert answer.status_code == 422
    assert "closed through 2026-10-31" in answer.content.decode()


@pytest.mark.parametrize("reader", READERS)
def test_outside_readers_take_it_and_the_tax_report_does_not_count_it(as_owner, people, reader, tmp_path):
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    as_owner.post(OPENING, typed())
    span = (dt.date(2026, 10, 1), dt.date(2026, 10, 31))
    code, said = read_by(reader, journal(actions.write_batch(ADA, *span), reader), tmp_path)
    assert code == 0, said
    report = queries.tax_report(*span)
    assert (report.rows, report.opening) == ((), Decimal("310.40"))


def test_verify_has_nothing_to_say(as_owner, people):
    from workshop.invoices import queries as invoices

    as_owner.post(OPENING, typed())
    assert [*books.problems(), *invoices.problems()] == []


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_it_is_for_owner_and_bookkeeper(who, request):
    client = request.getfixturevalue(who)
    assert client.get(OPENING).status_code == client.post(OPENING, {}).status_code == client.post(BACK, {}).status_code == 403
