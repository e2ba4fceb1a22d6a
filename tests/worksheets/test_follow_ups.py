"""worksheets:follow_ups and worksheets:close_follow_up: what is to be looked at again, and when it comes back."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.book.making import another_card, photo
from tests.jobs.cards import HOSTILE, SOURCE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from workshop import clock
from workshop.jobs import actions as jobs
from workshop.specifications.actions import ValueIn
from workshop.vehicles import actions as vehicles
from workshop.worksheets import actions, queries
from workshop.worksheets.models import FollowUp

MOST_QUERIES = 10


def keep(client, card, **typed):
    good = {"uid": a_uid(), "words": "Look for oil at the seal", "why": "new seal", "due_on": "", "after_km": "500", "after_hours": ""}
    return client.post(reverse("worksheets:follow_ups", args=[card.pk]), {**good, **typed})


def close(client, card, one, **typed):
    good = {"follow_up": str(one.uid), "state": "done", "words": "Dry"}
    return client.post(reverse("worksheets:close_follow_up", args=[card.pk]), {**good, **typed})


def shown(client, card, **more):
    return " ".join(client.get(reverse("worksheets:follow_ups", args=[card.pk]), more).content.decode().split())


def driven(card, km=92_400):
    vehicles.read_meter(TESTER, card.vehicle, "km", km)
    return card


def an_open_one(card, **due):
    return actions.add_follow_up(TESTER, card, actions.FollowUpIn("Look for oil", **(due or {"due_km": Decimal(92_900)})))


def test_it_counts_from_what_the_vehicle_has_run_and_comes_back_on_the_next_card(company, as_mechanic):
    card, before = driven(dairy_card()), told()
    assert keep(as_mechanic, card).status_code == 302
    assert FollowUp.objects.get().due_km == 92_900
    assert kinds(before) == ["worksheets.follow_up_added"]
    later = another_card(card)
    text = shown(as_mechanic, later)
    assert "at 92,900 km (now 92,400)" in text
    assert f"from card {card}" in text


def test_it_is_closed_on_the_next_card_with_a_word(company, as_mechanic):
    one = an_open_one(driven(dairy_card()))
    later, before = another_card(one.card), told()
    for _ in range(2):
        assert close(as_mechanic, later, one).status_code == 302
    one.refresh_from_db()
    assert (one.state, one.closed_card, one.closed_by, one.closed_words) == ("done", later, "Pip Tansley-Vole", "Dry")
    assert kinds(before) == ["worksheets.follow_up_closed"]
    assert "Nothing of this vehicle waits" in shown(as_mechanic, later)
    assert "was closed as done" in close(as_mechanic, later, one, state="refused").content.decode()


@pytest.mark.parametrize(
    ("due", "km", "days", "is_due"),
    [
        ({"due_km": Decimal(92_900)}, 92_899, 400, False),
        ({"due_km": Decimal(92_900)}, 92_900, 0, True),
        ({"due_on": 30}, 92_400, 29, False),
        ({"due_on": 30}, 92_400, 30, True),
        ({"due_on": 30, "due_km": Decimal(92_900)}, 93_000, 0, True),
        ({"due_hours": Decimal(2_200)}, 99_999, 400, False),
    ],
)
def test_what_is_due(company, due, km, days, is_due):
    card = driven(dairy_card())
    day = clock.today()
    if "due_on" in due:
        due = {**due, "due_on": day + dt.timedelta(days=due["due_on"])}
    an_open_one(card, **due)
    assert bool(queries.due(day + dt.timedelta(days=days), Decimal(km))) is is_due
    vehicles.read_meter(TESTER, card.vehicle, "km", km)
    assert bool(queries.due(day + dt.timedelta(days=days))) is is_due
    assert queries.due(day + dt.timedelta(days=days), vehicle=dairy_card(vehicle={"make": "O", "model": "W"}).vehicle) == []


def test_a_changed_meter_does_not_hide_what_is_due(company):
    """Story 22: 92,400 then 310 with a photo of the new meter is 92,710 in all."""
    card = driven(dairy_card())
    an_open_one(card, due_km=Decimal(92_700))
    vehicles.read_meter(TESTER, card.vehicle, "km", 310, photo=photo(), reason="changed")
    assert [one.km_now for one in queries.due(clock.today())] == [92_710]


def test_due_is_one_question_for_the_whole_desk(company, django_assert_num_queries):
    for n in range(5):
        an_open_one(driven(dairy_card(vehicle={"make": "O", "model": f"W{n}"}), 93_000))
    an_open_one(driven(dairy_card(vehicle={"make": "O", "model": "Far"}), 10))
    with django_assert_num_queries(1) as asked:
        assert len(queries.due(clock.today())) == 5
    assert "LIMIT 200" in asked.captured_queries[0]["sql"]  # the database finds them, whatever lies in it
    with django_assert_num_queries(1):
        assert next(str(one.card.vehicle) for one in queries.due(clock.today())) == "O W0"


def wheel_tick(card, component="Wheel nuts, front left", words="Front pads"):
    line = seal_line(card, words=words)
    joint = actions.add_joint(TESTER, line, component, 5, ValueIn(SOURCE, Decimal(25), "N·m"))
    return actions.tick_joint(TESTER, joint, Decimal(25), "N·m", "T2")


def test_a_tightened_wheel_proposes_the_usual_look_that_can_be_changed(company, as_mechanic):
    """Common practice, no source; the page says so."""
    card = driven(dairy_card())
    wheel_tick(card)
    sheet = as_mechanic.get(reverse("worksheets:tightening", args=[card.pk])).content.decode()
    assert "A wheel was tightened." in sheet
    text = shown(as_mechanic, card, wheels="1")
    assert 'value="Re-check the wheels after 50 to 100 km"' in text
    assert "no source. The maker&#x27;s rule wins." in text
    keep(as_mechanic, card, words="Re-check the wheels after 60 km", after_km="60")
    assert "A wheel was tightened." not in as_mechanic.get(reverse("worksheets:tightening", args=[card.pk])).content.decode()


@pytest.mark.parametrize("component", ["Flywheel to crank", "Steering wheel nut", "Seal housing"])
def test_other_joints_do_not(company, as_mechanic, component):
    card = driven(dairy_card())
    wheel_tick(card, component)
    assert "A wheel was tightened." not in as_mechanic.get(reverse("worksheets:tightening", args=[card.pk])).content.decode()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "Nothing written."),
        ({"words": "x" * 10_000}, "10,000 characters."),
        ({"words": "a\x00b"}, "no paper can print"),
        ({"after_km": ""}, "No day and no distance."),
        ({"after_km": "soon"}, "is not a number"),
        ({"after_km": "-5"}, "does not fit"),
        ({"after_km": "1e400"}, "does not fit"),
        ({"after_hours": "50"}, "No reading of that meter yet."),
        ({"due_on": "2020-01-01"}, "is over"),
        ({"due_on": "2500-01-01"}, "Read the year again."),
        ({"due_on": "soon"}, "Not a day."),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card = driven(dairy_card())
    before = told()
    answer = keep(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (FollowUp.objects.count(), told()) == (0, before)


def test_a_second_tap_counts_once(company, as_mechanic):
    card, uid = driven(dairy_card()), a_uid()
    for _ in range(2):
        assert keep(as_mechanic, card, uid=uid).status_code == 302
    assert FollowUp.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "sentence"), [({"state": ""}, "Choose one"), ({"state": "open"}, "Choose one"), ({"words": ""}, "No word.")]
)
def test_closing_that_is_refused(company, as_mechanic, typed, sentence):
    one = an_open_one(driven(dairy_card()))
    answer = close(as_mechanic, one.card, one, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    one.refresh_from_db()
    assert one.state == "open"


def test_another_vehicles_and_a_closed_card(company, as_mechanic):
    one = an_open_one(driven(dairy_card()))
    other = dairy_card(vehicle={"make": "Ostrel", "model": "Wander 28"})
    assert "another vehicle" in close(as_mechanic, other, one).content.decode()
    jobs.mark_ready(TESTER, one.card)
    jobs.close_card(TESTER, one.card)
    assert close(as_mechanic, one.card, one).status_code == 422
    assert keep(as_mechanic, one.card).status_code == 422
    assert "Keep it" not in shown(as_mechanic, one.card)
    assert FollowUp.objects.filter(state="open").count() == 1


def test_hostile_text_is_inert(company, as_mechanic):
    card = driven(dairy_card())
    keep(as_mechanic, card, words=HOSTILE, why='=HYPERLINK("x")')
    assert HOSTILE not in shown(as_mechanic, card)
    assert FollowUp.objects.get().words == HOSTILE


@pytest.mark.parametrize("count", [1, 12])
def test_it_asks_the_same_few_questions(company, as_mechanic, django_assert_max_num_queries, count):
    card = driven(dairy_card())
    for _ in range(count):
        an_open_one(card)
    with django_assert_max_num_queries(MOST_QUERIES):
        shown(as_mechanic, card)


@pytest.mark.parametrize(("who", "sees"), [("as_office", 200), ("as_bookkeeper", 403)])
def test_only_who_works_on_vehicles_writes(company, request, who, sees):
    client, one = request.getfixturevalue(who), an_open_one(driven(dairy_card()))
    assert client.get(reverse("worksheets:follow_ups", args=[one.card.pk])).status_code == sees
    assert keep(client, one.card).status_code == 403
    assert close(client, one.card, one).status_code == 403


def test_a_page_used_on_another_card_is_refused(company, as_mechanic):
    card, uid = driven(dairy_card()), a_uid()
    keep(as_mechanic, card, uid=uid)
    answer = keep(as_mechanic, another_card(card), uid=uid)
    assert answer.status_code == 422
    assert "The page has lost its number." in answer.content.decode()
    assert FollowUp.objects.count() == 1
