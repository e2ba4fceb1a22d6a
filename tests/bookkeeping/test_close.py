"""bookkeeping:close and bookkeeping:reopen: a closed day takes nothing; opening again needs a name and a reason; story 18."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.bookkeeping.test_write_batch import texts
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.forms.span import usual_close
from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.ledger import actions as ledger
from workshop.ledger import queries as books
from workshop.ledger.models import Close, Entry

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
CLOSE, REOPEN = "/books/close/", "/books/close/back/"
OCTOBER = {"through_on": "2026-10-31", "reason": "October is filed"}
ADA = Actor.system("Ada Quillfeather")


def entry(day, tax_point=None, late=False, reference="S-1"):
    return ledger.write_entry(
        source_kind="payment", source_uid=uuid.uuid4(), reference=reference, dated_on=day, tax_point_on=tax_point or day, words="A bill",
        postings=[ledger.PostingIn("bank", Decimal(10)), ledger.PostingIn("receivable", Decimal(-10))], late=late,
    )  # fmt: skip


def test_it_closes_through_a_day_and_tells_who_and_why(as_bookkeeper):
    assert (reverse("bookkeeping:close"), reverse("bookkeeping:reopen")) == (CLOSE, REOPEN)
    assert 'value="2026-10-31"' in as_bookkeeper.get(CLOSE).content.decode()
    assert as_bookkeeper.post(CLOSE, OCTOBER)["Location"] == CLOSE
    assert books.closed_through() == dt.date(2026, 10, 31)
    text = as_bookkeeper.get(CLOSE).content.decode()
    for words in ("Nothing is dated on or before", "October is filed", "Bram Ledgerley", "Open the books again"):
        assert words in text
    with pytest.raises(ledger.WrongDay):
        entry(dt.date(2026, 10, 31))


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"through_on": ""}, "Write the day as"),
        ({"through_on": "soon"}, "Write the day as"),
        ({"through_on": "2026-11-25"}, "has not ended"),
        ({"through_on": "2026-09-30"}, "closed through 2026-10-31 already"),
        ({"reason": " "}, "stays on file with your name"),
        ({"reason": "x" * 201}, "At most 200"),
    ],
)
def test_what_cannot_be_closed_is_told_beside_its_box(as_owner, wrong, sentence):
    as_owner.post(CLOSE, OCTOBER)
    answer = as_owner.post(CLOSE, {"through_on": "2026-11-20", "reason": "kept words", **wrong})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert sentence in text
    assert "kept words" in text or "reason" in wrong
    assert books.closed_through() == dt.date(2026, 10, 31)


def test_opened_again_by_name_with_a_reason(as_owner):
    as_owner.post(CLOSE, OCTOBER)
    assert as_owner.post(REOPEN, {"about": "2026-10-31", "reason": "A bill came late"})["Location"] == CLOSE
    assert books.closed_through() is None
    close = Close.objects.get()
    assert (close.reopened, close.reopened_by, close.reopened_reason) == (True, "Ada Quillfeather", "A bill came late")
    assert "A bill came late" in as_owner.get(CLOSE).content.decode()
    assert entry(dt.date(2026, 10, 31))


def test_a_second_tap_never_takes_back_a_second_close(as_owner):
    as_owner.post(CLOSE, {**OCTOBER, "through_on": "2026-09-30"})
    as_owner.post(CLOSE, OCTOBER)
    tap = {"about": "2026-10-31", "reason": "A bill came late"}
    assert as_owner.post(REOPEN, tap).status_code == 302
    before = Event.objects.count()
    answer = as_owner.post(REOPEN, tap)
    assert answer.status_code == 422
    assert "closed through 2026-09-30, not 2026-10-31, by now" in answer.content.decode()
    assert (books.closed_through(), Event.objects.count()) == (dt.date(2026, 9, 30), before)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"about": "2026-10-31", "reason": ""}, "stays on file with your name"),
        ({"about": "", "reason": "why"}, "by now"),
        ({"about": "whenever", "reason": "why"}, "by now"),
    ],
)
def test_opening_again_is_refused(as_owner, typed, sentence):
    as_owner.post(CLOSE, OCTOBER)
    answer = as_owner.post(REOPEN, typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert books.closed_through() == dt.date(2026, 10, 31)


def test_nothing_closed_nothing_to_open(as_owner):
    answer = as_owner.post(REOPEN, {"about": "2026-10-31", "reason": "why"})
    assert answer.status_code == 422
    assert "The books are open" in answer.content.decode()


@pytest.mark.parametrize(
    ("closed", "proposed"),
    [
        (None, dt.date(2026, 10, 31)),
        (dt.date(2026, 7, 31), dt.date(2026, 8, 31)),
        (dt.date(2026, 1, 31), dt.date(2026, 2, 28)),
        (dt.date(2026, 8, 12), dt.date(2026, 8, 31)),
        (dt.date(2026, 10, 31), None),
    ],
)
def test_the_next_month_that_has_passed_is_proposed(closed, proposed):
    assert usual_close(dt.date(2026, 11, 25), closed) == proposed


def test_story_18_a_late_paper_takes_the_first_open_day_and_october_stays(as_owner):
    """October closed, a paper dated 28 October entered 9 November: 1 November, tax point kept, the October file the same bytes."""
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    entry(dt.date(2026, 10, 12), reference="S-0")
    october = actions.write_batch(ADA, dt.date(2026, 10, 1), dt.date(2026, 10, 31))
    before = texts(october)
    as_owner.post(CLOSE, OCTOBER)
    day = dt.date(2026, 10, 28)
    late = entry(day, late=True)
    assert (late.dated_on, late.tax_point_on) == (dt.date(2026, 11, 1), day)
    november = actions.write_batch(ADA, dt.date(2026, 11, 1), dt.date(2026, 11, 30))
    assert "2026-11-01 * (S-1)" in texts(november)["hledger"]
    assert "tax point 2026-10-28" in texts(november)["hledger"]
    assert texts(october) == before
    page = as_owner.get(reverse("bookkeeping:batch", args=[november.no])).content.decode()
    assert "tax date" in page


def test_a_paper_that_is_not_late_keeps_its_day():
    assert entry(dt.date(2026, 11, 20), late=True).dated_on == dt.date(2026, 11, 20)
    assert Entry.objects.count() == 1


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_the_close_date_is_for_owner_and_bookkeeper(who, request):
    client = request.getfixturevalue(who)
    assert client.get(CLOSE).status_code == client.post(CLOSE, OCTOBER).status_code == client.post(REOPEN, {}).status_code == 403
    assert books.closed_through() is None
