"""company:series, the number series and where one may begin."""

import datetime as dt

import pytest
from django.db import transaction
from django.urls import reverse

from tests.company.sheets import HOSTILE, form_of, lines, send, text, told
from workshop.company import actions
from workshop.company.models import Series
from workshop.history.actions import Actor
from workshop.upkeep import verify

ADDRESS = reverse("company:series")
GOOD = {"kind": "invoice", "first": "501", "reason": "paper book until 24 November"}
DAY = dt.date(2026, 11, 25)
pytestmark = pytest.mark.usefixtures("company", "held_clock")


def given(kind="invoice", on=DAY):
    with transaction.atomic():
        return actions.next_number(kind, on)


def on_file():
    return list(Series.objects.order_by("pk").values())


def test_it_shows_last_date_and_next(as_owner):
    given("card")
    given("card", dt.date(2026, 11, 26))
    given("invoice", dt.date(2025, 3, 1))
    page = text(as_owner.get(ADDRESS))
    for words in ("26-0002", "Thu 26 Nov", "26-0003", "I26-0001", "C26-0001", "I25-0001", "Sat 1 Mar 2025"):
        assert words in page
    assert "I25-0002" not in page


def test_a_series_begins_where_another_book_ended(as_owner):
    before = told()
    assert send(as_owner, ADDRESS, **GOOD).headers["Location"] == ADDRESS
    assert lines(before) == ["company.series_begun"]
    assert "The next one is I26-0501." in text(as_owner.get(ADDRESS))
    assert [given(), given(), given("card"), given(on=dt.date(2027, 1, 2))] == ["I26-0501", "I26-0502", "26-0001", "I27-0001"]


def test_what_was_given_elsewhere_is_not_missing_to_verify(as_owner):
    send(as_owner, ADDRESS, **GOOD)
    assert [problem for problem in verify.series() if "invoice" in problem] == []


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"kind": None}, "Choose one of the three series."),
        ({"kind": "moon"}, "Choose one of the three series."),
        ({"first": ""}, "Empty. Write a number from 2 to 99,999."),
        ({"first": "1"}, "1 is not from 2 to 99,999."),
        ({"first": "100000"}, "100000 is not from 2 to 99,999."),
        ({"first": "501.5"}, "more than 0 places"),
        ({"first": HOSTILE}, "is not an amount"),
        ({"first": "9" * 10_000}, "is too large"),
        ({"reason": ""}, "Nothing written. Write where the numbers before it are."),
        ({"reason": "x" * 121}, "121 characters. At most 120"),
        ({"kind": "card", "first": "7"}, "26-0001 is given. A number left out after it would be missing for good"),
        ({"kind": "credit", "first": "30"}, "The series begins at C26-0030 already. It can only begin higher"),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(as_owner, typed, sentence):
    given("card")
    actions.set_first_number(Actor.system("t"), "credit", 2026, 30, "paper")
    before, was = told(), on_file()
    answer = send(as_owner, ADDRESS, **GOOD | typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert (told(), on_file()) == (before, was)


def test_sent_twice_begins_once(as_owner):
    typed, before = form_of(as_owner, ADDRESS) | GOOD, told()
    assert [as_owner.post(ADDRESS, typed).status_code for _ in range(2)] == [302, 422]
    assert lines(before) == ["company.series_begun"]


def test_what_somebody_else_set_meanwhile_is_shown_first(as_owner):
    typed = form_of(as_owner, ADDRESS) | GOOD
    actions.set_first_number(Actor.system("another"), "invoice", 2026, 300, "another book")
    answer = as_owner.post(ADDRESS, typed)
    assert answer.status_code == 422
    assert "Somebody let a series begin elsewhere after you opened this sheet." in text(answer) and "I26-0300" in text(answer)
    assert Series.objects.get(kind="invoice").starts_after == 299
