"""scheduling:visit, one stop again; change_stop, and the price it shows."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.scheduling.stops import HOSTILE, TESTER, TODAY, at, kinds, plan, text, told
from workshop.company.models import CallOutRule
from workshop.jobs import actions as jobs
from workshop.scheduling import actions, queries
from workshop.scheduling.models import Stop

GOOD = {"at": "2026-11-26T14:15", "minutes": "60", "km_each_way": "28", "minutes_each_way": "28"}
FACTS = ("planned_at", "planned_on", "minutes", "km_each_way", "minutes_each_way", "changes")


def address(stop):
    return reverse("scheduling:visit", args=[stop.uid])


def sent(client, stop, **typed):
    return client.post(address(stop), {**GOOD, "seen": stop.changes, **typed})


def facts(stop):
    return Stop.objects.values_list(*FACTS).get(pk=stop.pk)


def test_time_and_way_are_put_right(card, as_office):
    stop, before = plan(card), told()
    assert sent(as_office, stop).status_code == 302
    assert facts(stop) == (at(14, 15, TODAY + dt.timedelta(days=1)), dt.date(2026, 11, 26), 60, Decimal("28.0"), 28, stop.changes + 1)
    assert kinds(before) == ["scheduling.stop_changed"]
    card.refresh_from_db()
    assert card.due_at == at(14, 15, TODAY + dt.timedelta(days=1))


def test_sent_twice_it_is_changed_once(card, as_mechanic):
    stop, before = plan(card), told()
    assert [sent(as_mechanic, stop).status_code for _ in range(2)] == [302, 302]
    assert kinds(before) == ["scheduling.stop_changed"]


def test_a_sheet_that_is_out_of_date_shows_what_stands_now_and_keeps_what_was_typed(card, as_mechanic):
    stop = plan(card)
    actions.change_stop(TESTER, stop, seen=stop.changes, at=at(16), minutes=30, km_each_way=Decimal(5), minutes_each_way=9)
    before, answer = told(), sent(as_mechanic, stop)
    assert answer.status_code == 422
    said = text(answer)
    assert "Somebody changed this stop after you opened the sheet." in said and "16:00" in said
    assert "2026-11-26T14:15" in said and f'name="seen" value="{stop.changes + 1}"' in answer.content.decode()
    assert told() == before


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"at": ""}, "No day and time."),
        ({"at": "1900-11-25T10:00"}, "Read the year again."),
        ({"minutes": "5940"}, "5940 is not from 5 to 960 minutes."),
        ({"minutes": HOSTILE}, "is not minutes"),
        ({"km_each_way": "2000.1"}, "2000.1 is not from 0 to 2,000 km."),
        ({"minutes_each_way": "1e9"}, "is not minutes"),
        ({"seen": ""}, "The page has lost its number."),
        ({"seen": "-1"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(card, as_mechanic, typed, sentence):
    stop = plan(card)
    was, before, answer = facts(stop), told(), sent(as_mechanic, stop, **typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    for name in GOOD.keys() - {"at"}:
        assert (GOOD | typed)[name] in text(answer)
    assert HOSTILE not in answer.content.decode()
    assert (facts(stop), told()) == (was, before)


def test_two_stops_of_a_card_never_have_one_time(card, as_mechanic):
    stop, _ = plan(card), plan(card, 14, 15, day=TODAY + dt.timedelta(days=1))
    answer = sent(as_mechanic, stop)
    assert answer.status_code == 422 and "This card has a stop at that time already." in text(answer)


def test_a_stop_of_a_closed_card_stays_as_it_is(card, as_mechanic):
    stop = plan(card)
    jobs.cancel_card(TESTER, card, "Sold.", billed=lambda card: "")
    assert "Save stop" not in text(as_mechanic.get(address(stop)))
    assert sent(as_mechanic, stop).status_code == 422


def test_the_call_out_alone_stands_on_the_sheet(card, as_mechanic):
    """34 km and 41 min each way, worked by hand: 45.00 + 48 x 0.62 + 82 / 60 x 46.00 = 137.63."""
    said = text(as_mechanic.get(address(plan(card, km="34"))))
    for words in ("45.00", "29.76", "62.87", "Alone 137.63", "34.0 km, 41 min"):
        assert words in said, words


def test_a_start_by_night_costs_more(card, as_mechanic):
    """137.63 x 1.5: 68.82 (68.815) more."""
    said = text(as_mechanic.get(address(plan(card, 4, 30, km="34", day=TODAY + dt.timedelta(days=1)))))
    assert "× 1.50 68.82" in said and "Alone 206.45" in said


def test_the_rule_of_the_day_counts(card):
    CallOutRule.objects.create(from_on=dt.date(2026, 12, 1), base_amount=50, free_km=10, km_amount=1, travel_class="travel")
    now, later = plan(card, km="34"), plan(card, km="34", day=dt.date(2026, 12, 2))
    assert queries.share_of(now).alone.net == Decimal("137.63")
    assert queries.share_of(later).alone.net == Decimal("160.87")  # 50.00 + 48.00 + 62.87


def test_without_a_rule_the_sheet_says_so(card, as_mechanic):
    CallOutRule.objects.all().delete()
    said = text(as_mechanic.get(address(plan(card))))
    assert "No call-out rule on 2026-11-25. The owner sets it on the company page." in said
    assert "Make it the call-out line" not in said


def test_who_may(card, client, as_owner, as_office, as_bookkeeper):
    stop = plan(card)
    assert [each.get(address(stop)).status_code for each in (client, as_owner, as_office, as_bookkeeper)] == [302, 200, 200, 403]
    assert as_owner.get(reverse("scheduling:visit", args=[uuid.uuid4()])).status_code == 404
