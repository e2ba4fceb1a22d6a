"""company:rates, hourly rates by class from a day."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.company.sheets import HOSTILE, form_of, lines, send, text, told
from workshop import clock
from workshop.company import actions, queries
from workshop.company.models import Rate
from workshop.history.actions import Actor

ADDRESS = reverse("company:rates")
GOOD = {"rate_class": "workshop", "from_on": "2027-01-01", "hour_amount": "82.50"}
TESTER = Actor.system("tester")
pytestmark = pytest.mark.usefixtures("company", "held_clock")


def on_file():
    return list(Rate.objects.order_by("pk").values())


def test_a_new_price_holds_from_its_day_and_the_old_one_stays(as_owner):
    before = told()
    assert send(as_owner, ADDRESS, **GOOD).headers["Location"] == ADDRESS
    assert lines(before) == ["company.rate_set"]
    assert queries.rate_on("workshop", dt.date(2026, 12, 31)) == Decimal("78.00")
    assert queries.rate_on("workshop", dt.date(2027, 1, 1)) == Decimal("82.50")
    page = text(as_owner.get(ADDRESS))
    assert "workshop is 82.50 from 2027-01-01." in page
    assert "in force" in page and "to come" in page


def test_a_past_day_is_taken_and_says_that_what_is_out_keeps_its_price(as_owner):
    assert send(as_owner, ADDRESS, **GOOD | {"from_on": "2026-03-01"}).status_code == 302
    assert "That day is past: what was sent or issued since then keeps its price." in text(as_owner.get(ADDRESS))


def test_another_class_gets_its_name(as_owner):
    assert send(as_owner, ADDRESS, **GOOD | {"rate_class": "another", "new_class": "apprentice"}).status_code == 302
    assert queries.rate_on("apprentice", dt.date(2027, 1, 1)) == Decimal("82.50")
    assert send(as_owner, ADDRESS, **GOOD | {"rate_class": "apprentice", "from_on": "2027-02-01"}).status_code == 302


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"hour_amount": ""}, "Empty. Write a number from 0.01 to 2,000.00."),
        ({"hour_amount": "0"}, "0 is not from 0.01 to 2,000.00."),
        ({"hour_amount": "7800"}, "7800 is not from 0.01 to 2,000.00. Read it again: it is the price of one hour."),
        ({"hour_amount": "78.0055"}, "more than 2 places"),
        ({"hour_amount": "78.005"}, "can be read two ways"),
        ({"hour_amount": "-78"}, "type the amount without a minus"),
        ({"hour_amount": "NaN"}, "NaN is not an amount"),
        ({"hour_amount": HOSTILE}, "is not an amount"),
        ({"hour_amount": "9" * 10_000}, "is too large"),
        ({"from_on": ""}, "That is no day."),
        ({"from_on": "2026-02-30"}, "That is no day."),
        ({"from_on": "0026-12-01"}, "0026-12-01 is not from 2000-01-01 to 2028-11-25. Read the year again."),
        ({"from_on": "2062-01-01"}, "Read the year again."),
        ({"rate_class": None}, "Choose a class of work."),
        ({"rate_class": "moon"}, "Choose a class of work."),
        ({"rate_class": "another"}, "2 to 20 small letters, like apprentice."),
        ({"rate_class": "another", "new_class": HOSTILE}, "At most 20"),
        ({"rate_class": "another", "new_class": "=A1"}, "2 to 20 small letters"),
        ({"from_on": "2020-01-01"}, "workshop is 78.00 from 2020-01-01 on file. Choose another day, or tick"),
        ({"from_on": "2020-01-01", "hour_amount": "78"}, "on file already. There is nothing to set."),
        ({"from_on": "2020-01-01", "hour_amount": "78", "mend": "on"}, "There is nothing to set."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(as_owner, typed, sentence):
    before, was = told(), on_file()
    answer = send(as_owner, ADDRESS, **GOOD | typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    for name, value in (GOOD | typed).items():
        assert name in {"rate_class", "mend"} or value in text(answer)
    assert (told(), on_file()) == (before, was)


def test_the_same_page_sent_twice_sets_one_price(as_owner):
    typed, before = form_of(as_owner, ADDRESS) | GOOD, told()
    assert [as_owner.post(ADDRESS, typed).status_code for _ in range(2)] == [302, 422]
    assert (lines(before), Rate.objects.filter(from_on__year=2027).count()) == (["company.rate_set"], 1)


def test_a_slip_of_the_same_day_is_put_right(as_owner):
    send(as_owner, ADDRESS, **GOOD | {"hour_amount": "825"})
    before = told()
    assert send(as_owner, ADDRESS, **GOOD | {"mend": "on"}).status_code == 302
    assert lines(before) == ["company.rate_mended"]
    assert queries.rate_on("workshop", dt.date(2027, 1, 1)) == Decimal("82.50")
    assert Rate.objects.filter(from_on__year=2027).count() == 1


def test_a_price_that_somebody_else_set_meanwhile_is_shown_first(as_owner):
    typed = form_of(as_owner, ADDRESS) | GOOD
    actions.set_rate(TESTER, "workshop", dt.date(2026, 12, 1), Decimal("80.00"))
    answer = as_owner.post(ADDRESS, typed)
    assert answer.status_code == 422
    assert "Somebody set another price after you opened this sheet." in text(answer)
    assert "80.00" in text(answer) and "82.50" in text(answer)
    assert Rate.objects.filter(from_on__year=2027).count() == 0


def test_two_years_ahead_is_the_end(as_owner):
    assert queries.far_off() > clock.today() + dt.timedelta(days=730)
