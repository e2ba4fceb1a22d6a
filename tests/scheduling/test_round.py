"""scheduling:round, what was really driven on a day and what each pays."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.scheduling.stops import HOSTILE, TESTER, TODAY, dairy, kinds, plan, text, told
from workshop.scheduling import actions, queries
from workshop.scheduling.models import Round

ADDRESS = reverse("scheduling:round", args=["2026-11-25"])


def send(client, **typed):
    return client.post(ADDRESS, {"km": "71", "minutes": "", "seen": "", **typed})


@pytest.fixture
def stops(card, other):
    """62 and 56 km there and back alone."""
    return plan(card, 9, km="31", drive=41), plan(other, 14, km="28", drive=28)


def test_the_round_is_split_as_each_would_have_driven_alone(stops, as_mechanic):
    """71 km over 62 and 56: 37.3 and 33.7. Alone 45.00 + 42 x 0.62 + 62.87 = 133.91 and 45.00 + 36 x 0.62 + 42.93 = 110.25;
    on the round 45.00 + 17.3 x 0.62 + 62.87 = 118.60 and 45.00 + 13.7 x 0.62 + 42.93 = 96.42. By hand."""
    before = told()
    assert send(as_mechanic).status_code == 302
    shares = queries.shares(TODAY)
    assert [share.km for share in shares] == [Decimal("37.3"), Decimal("33.7")]
    assert [share.alone.net for share in shares] == [Decimal("133.91"), Decimal("110.25")]
    assert [share.price.net for share in shares] == [Decimal("118.60"), Decimal("96.42")]
    said = text(as_mechanic.get(ADDRESS))
    for words in ("118.0 km if each were driven alone", "37.3 km and 82 min of the round; alone 133.91", "118.60", "96.42"):
        assert words in said, words
    assert kinds(before) == ["scheduling.round_set"]
    visit = text(as_mechanic.get(reverse("scheduling:visit", args=[stops[0].uid])))
    assert "Alone 133.91" in visit and "On this round, 37.3 km and 82 min 118.60" in visit


def test_the_minutes_at_the_wheel_are_split_too(stops, as_mechanic):
    """100 over 82 and 56: 59.42 and 40.58; 59 and 41 (by hand)."""
    send(as_mechanic, minutes="100")
    assert [share.minutes for share in queries.shares(TODAY)] == [59, 41]


def test_sent_twice_it_is_written_once(stops, as_owner):
    before = told()
    assert [send(as_owner).status_code for _ in range(2)] == [302, 302]
    assert (Round.objects.count(), kinds(before)) == (1, ["scheduling.round_set"])


def test_a_round_that_somebody_else_wrote_is_shown_first(stops, as_owner):
    actions.set_round(TESTER, TODAY, km=Decimal("80.0"), minutes=None, seen="")
    answer = send(as_owner)
    assert answer.status_code == 422 and "Somebody wrote this round down" in text(answer)
    assert Round.objects.get().km == 80
    assert send(as_owner, seen="80.0/None").status_code == 302
    assert Round.objects.get().km == 71


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"km": ""}, "Empty. Write km from 0 to 5,000."),
        ({"km": "0"}, "A round has more than 0"),
        ({"km": "118.1"}, "at most the 118.0 km of all stops alone"),
        ({"km": "5001"}, "5001 is not from 0 to 5,000 km."),
        ({"km": "71.05"}, "“71.05” is not km. Write figures from 0 to 5,000 with at most one place."),
        ({"km": HOSTILE}, "is not km"),
        ({"minutes": "139"}, "at most the 138 min of all stops alone"),
        ({"minutes": "99 h"}, "“99 h” is not minutes."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(stops, as_mechanic, typed, sentence):
    before, answer = told(), send(as_mechanic, **typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert all(value in text(answer) for value in typed.values())
    assert HOSTILE not in answer.content.decode()
    assert (Round.objects.count(), told()) == (0, before)


def test_a_day_without_a_way_has_no_round(card, as_mechanic):
    plan(card, km="0")
    answer = send(as_mechanic)
    assert answer.status_code == 422 and "No stop of this day has a way." in text(answer)


def test_a_round_that_no_longer_fits_its_stops_counts_no_more(stops, as_mechanic):
    send(as_mechanic)
    actions.cancel_stop(TESTER, stops[0], "The part is late.")
    assert [share.price.net for share in queries.shares(TODAY)] == [Decimal("110.25")]
    assert "it no longer fits them. Write it down anew." in text(as_mechanic.get(ADDRESS))


@pytest.mark.parametrize("day", ["2026-02-30", "yesterday", "2026-11-25x", "1"])
def test_a_day_that_is_none_is_a_calm_404(company, as_mechanic, day):
    assert as_mechanic.get(reverse("scheduling:round", args=[day])).status_code == 404


def test_who_may(stops, client, as_owner, as_office, as_bookkeeper):
    assert [each.get(ADDRESS).status_code for each in (client, as_owner, as_office, as_bookkeeper)] == [302, 200, 200, 403]
    assert [send(each).status_code for each in (as_office, as_bookkeeper)] == [403, 403]
    assert "Share the round" not in text(as_office.get(ADDRESS))


def test_as_many_stops_as_you_like_cost_the_same(stops, as_owner):
    def asked():
        with CaptureQueriesContext(connection) as captured:
            as_owner.get(ADDRESS)
        return len(captured)

    few = asked()
    for hour in range(6):
        plan(dairy(), 15, hour)
    assert asked() == few <= 10
