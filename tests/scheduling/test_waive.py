"""scheduling:waive, a stop that nobody pays for; what the way costs beside; and one order of locks."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.scheduling.stops import HOSTILE, TESTER, a_uid, at, kinds, plan, text, told
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, Line
from workshop.scheduling import actions
from workshop.scheduling.models import Stop

WHY = "The seal stayed in the van."


@pytest.fixture
def stop(card):
    return plan(card, km="34")


def waived(client, stop, **typed):
    return client.post(reverse("scheduling:waive", args=[stop.uid]), {"reason": WHY, **typed})


def charged(client, stop, shown="137.63"):
    return client.post(reverse("scheduling:charge", args=[stop.uid]), {"shown": shown})


def sheet(client, stop):
    return text(client.get(reverse("scheduling:visit", args=[stop.uid])))


def test_a_stop_that_is_not_charged_says_why_and_is_not_charged(stop, card, as_mechanic):
    before = told()
    for _ in range(2):
        assert waived(as_mechanic, stop).headers["Location"] == reverse("scheduling:visit", args=[stop.uid])
    assert kinds(before) == ["scheduling.not_charged"]
    said = sheet(as_mechanic, stop)
    assert f"No charge : {WHY}" in said and "Make it the call-out line" not in said
    answer = charged(as_mechanic, stop)
    assert answer.status_code == 409 and f"This stop is not charged: “{WHY}”" in text(answer)
    assert card.lines.count() == 0
    assert "no charge" in text(as_mechanic.get(reverse("scheduling:round", args=["2026-11-25"])))


def test_charged_after_all(stop, card, as_mechanic):
    waived(as_mechanic, stop)
    before = told()
    for _ in range(2):
        waived(as_mechanic, stop, charge="yes")
    assert kinds(before) == ["scheduling.charged_again"]
    assert charged(as_mechanic, stop).status_code == 302


REFUSED = {"nothing": "", "spaces": "  ", "long": "x" * 10_000, "unprintable": "a\x00b"}


@pytest.mark.parametrize("reason", REFUSED.values(), ids=REFUSED)
def test_without_a_reason_it_is_charged(stop, as_mechanic, reason):
    before, answer = told(), waived(as_mechanic, stop, reason=reason)
    assert answer.status_code == 422 and 'class="err"' in answer.content.decode()
    stop.refresh_from_db()
    assert (stop.free_reason, told()) == ("", before)


def test_hostile_words_are_only_words(stop, as_mechanic):
    waived(as_mechanic, stop, reason=HOSTILE)
    assert HOSTILE not in as_mechanic.get(reverse("scheduling:visit", args=[stop.uid])).content.decode()


def test_what_a_line_charges_is_struck_first(stop, card, as_mechanic):
    charged(as_mechanic, stop)
    answer = waived(as_mechanic, stop)
    assert answer.status_code == 409 and "Line 1 charges this stop. Strike it" in text(answer) and WHY in text(answer)
    jobs.strike_line(TESTER, card.lines.get(), "We forgot the seal.", billed=lambda line: "")
    assert waived(as_mechanic, stop).status_code == 302


def test_a_cancelled_stop_and_a_closed_card_are_left_alone(stop, other, as_mechanic):
    actions.cancel_stop(TESTER, stop, "Snow.")
    assert waived(as_mechanic, stop).status_code == 409
    second = plan(other)
    Card.objects.filter(pk=other.pk).update(state="closed")
    assert waived(as_mechanic, second).status_code == 409
    assert not Stop.objects.exclude(free_reason="").exists()


def test_who_may(stop, client, as_owner, as_office, as_bookkeeper):
    assert [waived(each, stop).status_code for each in (client, as_office, as_bookkeeper, as_owner)] == [302, 403, 403, 302]


def planned(client, card, **typed):
    when = {"at": "2026-11-25T10:00", "minutes": "90", "km_each_way": "34", "minutes_each_way": "41"}
    return client.post(reverse("scheduling:stop", args=[card.pk]), {**when, "uid": a_uid(), **typed})


def test_a_ferry_goes_into_the_call_out_with_its_name(card, as_mechanic):
    """137.63 by the rule, as tests/scheduling/test_charge.py has it, and 18.40: 156.03."""
    planned(as_mechanic, card, extra_words="Ferry over the Vell", extra_amount="18,40")
    stop = card.stops.get()
    assert "With Ferry over the Vell 156.03" in sheet(as_mechanic, stop)
    assert charged(as_mechanic, stop).status_code == 409
    assert charged(as_mechanic, stop, "156.03").status_code == 302
    line = card.lines.get()
    assert (line.kind, line.fixed_amount) == (Line.Kind.FIRST_PRICE, Decimal("156.03"))
    assert line.fixed_reason == "34.0 km and 41 min each way, 2026-11-25 10:00; Ferry over the Vell 18.40"


BESIDE = {
    "a price of nothing": ({"extra_amount": "18.40"}, "18.40 for what?"),
    "nothing paid": ({"extra_words": "Toll"}, "What does “Toll” cost?"),
    "free": ({"extra_words": "Toll", "extra_amount": "0"}, "What does “Toll” cost?"),
    "below nothing": ({"extra_words": "Toll", "extra_amount": "-5"}, "-5"),
    "no money": ({"extra_words": "Toll", "extra_amount": "=1+1"}, "=1+1"),
    "too much": ({"extra_words": "Toll", "extra_amount": "9999999"}, "is more than"),
    "too long": ({"extra_words": "x" * 10_000, "extra_amount": "1"}, "10,000 characters"),
}


@pytest.mark.parametrize("typed, sentence", BESIDE.values(), ids=BESIDE)
def test_a_ferry_that_is_refused(card, as_mechanic, typed, sentence):
    before, answer = told(), planned(as_mechanic, card, **typed)
    assert answer.status_code == 422 and sentence in text(answer)
    assert (card.stops.count(), told()) == (0, before)


def test_whoever_puts_stops_in_order_locks_the_day_in_one_order(stop, other):
    """Two phones that lock the same rows in one order wait in a row and never for each other."""
    second = plan(other, 14)
    for verb in (
        lambda: actions.move_stop(TESTER, second, "earlier", seen=second.changes),
        lambda: plan(other, 16),
        lambda: actions.change_stop(TESTER, stop, seen=stop.changes, at=at(17), minutes=90, km_each_way=34, minutes_each_way=41),
    ):
        for each in (stop, second):
            each.refresh_from_db()
        with CaptureQueriesContext(connection) as asked:
            verb()
        first = next(each["sql"] for each in asked if 'FROM "scheduling_stop"' in each["sql"] and "SELECT" in each["sql"])
        assert 'ORDER BY "scheduling_stop"."id" ASC' in first and '"planned_on"' in first.split("WHERE")[1]
