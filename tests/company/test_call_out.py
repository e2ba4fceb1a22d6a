"""company:call_out, the rule of the way and its worked example."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.company.sheets import HOSTILE, form_of, lines, send, text, told
from workshop.company import actions, queries
from workshop.company.models import CallOutRule, Company
from workshop.history.actions import Actor

ADDRESS = reverse("company:call_out")
GOOD = {
    "from_on": "2026-11-25",
    "base_amount": "45.00",
    "free_km": "10",
    "km_amount": "0.62",
    "travel_class": "travel",
    "night_factor": "1.5",
    "weekend_factor": "1.25",
    "night_begins": "20:00",
    "night_ends": "06:00",
}
pytestmark = pytest.mark.usefixtures("company", "held_clock")


def on_file():
    return list(CallOutRule.objects.order_by("pk").values())


def test_the_rule_holds_from_its_day(as_owner):
    before = told()
    assert send(as_owner, ADDRESS, **GOOD).headers["Location"] == ADDRESS
    assert lines(before) == ["company.call_out_set"]
    rule = queries.call_out_rule_on(dt.date(2026, 11, 25))
    assert (rule.base_amount, rule.free_km, rule.km_amount) == (Decimal("45.00"), Decimal("10.0"), Decimal("0.62"))
    with pytest.raises(LookupError, match="No call-out rule on 2026-11-24"):
        queries.call_out_rule_on(dt.date(2026, 11, 24))


def test_the_example_is_worked_out_and_nothing_is_saved(as_owner):
    """34 km and 41 minutes each way at 46.00 an hour: 45.00 + 48 x 0.62 + 82 / 60 x 46.00 = 137.63 (own sum, by hand)."""
    before = told()
    answer = send(as_owner, ADDRESS, **GOOD, work_out="1")
    assert answer.status_code == 200
    for words in ("48.0 km × 0.62", "29.76", "82 min at 46.00 an hour", "62.87", "137.63", "By night, × 1.50", "206.45", "172.04"):
        assert words in text(answer)
    assert (told(), on_file()) == (before, [])


def test_the_newest_rule_stands_in_the_boxes_with_its_example(as_owner):
    send(as_owner, ADDRESS, **GOOD)
    assert "137.63" in text(as_owner.get(ADDRESS))
    assert form_of(as_owner, ADDRESS)["km_amount"] == "0.62"


def test_the_example_waits_until_every_box_can_be_read(as_owner):
    assert "The example stands here once every box" in text(as_owner.get(ADDRESS))
    answer = send(as_owner, ADDRESS, **GOOD | {"free_km": "ten"}, work_out="1")
    assert "The example stands here once every box" in text(answer) and "ten is not an amount" in text(answer)


def test_without_an_hourly_rate_it_leads_to_the_rates(as_owner):
    from workshop.company.models import Rate

    Rate.objects.all().delete()
    assert "No hourly rate is set." in text(as_owner.get(ADDRESS))
    assert send(as_owner, ADDRESS, **GOOD).status_code == 422


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"base_amount": ""}, "Empty. Write a number from 0 to 2,000.00."),
        ({"base_amount": HOSTILE}, "is not an amount"),
        ({"free_km": "501"}, "501 is not from 0 to 500."),
        ({"km_amount": "6200"}, "6200 is not from 0 to 100.00."),
        ({"travel_class": "moon"}, "Choose a class that has an hourly rate."),
        ({"travel_class": None}, "Choose a class that has an hourly rate."),
        ({"night_factor": "0.5"}, "0.5 is not from 1 to 5."),
        ({"weekend_factor": "150"}, "150 is not from 1 to 5."),
        ({"night_begins": "25:00"}, "Not a time. Write it as 08:30."),
        ({"night_ends": ""}, "Empty. This box is needed."),
        ({"night_ends": "20:00"}, "The night begins and ends at the same time."),
        ({"from_on": "1926-11-25"}, "Read the year again."),
        ({"example_km": "9999"}, "9999 is not from 0 to 2,000."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(as_owner, typed, sentence):
    before = told()
    answer = send(as_owner, ADDRESS, **GOOD | typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    for name in GOOD.keys() - {"travel_class"}:
        assert (GOOD | typed)[name] in text(answer)
    assert (told(), on_file()) == (before, [])


def test_sent_twice_is_one_rule(as_owner):
    typed, before = form_of(as_owner, ADDRESS) | GOOD, told()
    answers = [as_owner.post(ADDRESS, typed) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 422]
    assert "A rule from 2026-11-25 is on file already. There is nothing to set." in text(answers[1])
    assert lines(before) == ["company.call_out_set"]


def test_a_second_rule_of_the_day_only_puts_it_right(as_owner):
    send(as_owner, ADDRESS, **GOOD)
    assert "Choose another day, or tick “Put that day right”." in text(send(as_owner, ADDRESS, **GOOD | {"base_amount": "48.00"}))
    before = told()
    assert send(as_owner, ADDRESS, **GOOD | {"base_amount": "48.00", "mend": "on"}).status_code == 302
    assert lines(before) == ["company.call_out_mended"]
    assert [rule["base_amount"] for rule in on_file()] == [Decimal("48.00")]


def test_a_rule_that_somebody_else_set_meanwhile_is_shown_first(as_owner):
    typed = form_of(as_owner, ADDRESS) | GOOD
    rule = {"base_amount": Decimal(50), "free_km": Decimal(5), "km_amount": Decimal(1), "travel_class": "travel"}
    actions.set_call_out(Actor.system("another"), dt.date(2026, 12, 1), **rule)
    answer = as_owner.post(ADDRESS, typed)
    assert answer.status_code == 422
    assert "Somebody set another price after you opened this sheet." in text(answer) and "50.00" in text(answer)
    assert len(on_file()) == 1


@pytest.mark.parametrize(
    ("moment", "factor"),
    [
        ("2026-11-25T12:00", "1"),  # a Wednesday; local time is one hour ahead of UTC in winter
        ("2026-11-25T18:59", "1"),
        ("2026-11-25T19:00", "1.5"),
        ("2026-11-26T04:59", "1.5"),
        ("2026-11-26T05:00", "1"),
        ("2026-11-28T12:00", "1.25"),
        ("2026-11-28T22:00", "1.5"),
    ],
)
def test_night_and_weekend_by_the_local_start(moment, factor):
    rule = CallOutRule(night_factor=Decimal("1.5"), weekend_factor=Decimal("1.25"), night_begins=dt.time(20), night_ends=dt.time(6))
    assert queries.factor_at(rule, dt.datetime.fromisoformat(moment).replace(tzinfo=dt.UTC)) == Decimal(factor)
    assert Company.objects.exists()
