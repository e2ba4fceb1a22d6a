"""scheduling:stop, a new appointment of a card; plan_stop."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.scheduling.stops import HOSTILE, TESTER, TODAY, a_uid, at, kinds, plan, text, told
from workshop.jobs import actions as jobs
from workshop.jobs.actions import Refused
from workshop.scheduling import actions
from workshop.scheduling.models import Stop

GOOD = {"at": "2026-11-25T10:30", "minutes": "90", "km_each_way": "34", "minutes_each_way": "41"}


def address(card):
    return reverse("scheduling:stop", args=[card.pk])


def sent(client, card, **typed):
    return client.post(address(card), {**GOOD, "uid": a_uid(), **typed})


def test_a_stop_is_planned_and_the_card_is_due_then(card, as_mechanic):
    before = told()
    assert sent(as_mechanic, card).status_code == 302
    stop = Stop.objects.get()
    assert (stop.planned_at, stop.planned_on, stop.minutes) == (at(10, 30), TODAY, 90)
    assert (stop.km_each_way, stop.minutes_each_way, stop.position) == (Decimal("34.0"), 41, 1)
    assert kinds(before) == ["scheduling.stop_planned"]
    card.refresh_from_db()
    assert card.due_at == at(10, 30)
    assert "planned" in text(as_mechanic.get(address(card)))


def test_the_card_is_due_at_the_first_stop_that_is_still_to_come(card):
    later, first = plan(card, day=TODAY + dt.timedelta(days=3)), plan(card)
    card.refresh_from_db()
    assert card.due_at == first.planned_at
    actions.finish_stop(TESTER, first)
    card.refresh_from_db()
    assert card.due_at == later.planned_at
    actions.cancel_stop(TESTER, later, "The part is late.")
    card.refresh_from_db()
    assert card.due_at == first.planned_at


def test_stops_of_a_day_stand_by_their_time(card, other):
    noon, morning, evening = plan(card, 12), plan(other, 8), plan(card, 18)
    assert list(Stop.objects.order_by("position")) == [morning, noon, evening]


def test_a_way_that_is_known_stands_in_the_boxes(card, as_office):
    plan(card, km="34")
    page = as_office.get(address(card))
    assert 'name="km_each_way" value="34.0"' in page.content.decode()


def test_the_time_of_the_enquiry_stands_in_the_box(rule, as_mechanic):
    from tests.scheduling.stops import dairy

    card = dairy(due_at=at(14, 30))
    assert 'value="2026-11-25T14:30"' in as_mechanic.get(address(card)).content.decode()


def test_the_same_page_sent_twice_is_one_stop(card, as_mechanic):
    uid, before = a_uid(), told()
    sent(as_mechanic, card, uid=uid)
    assert sent(as_mechanic, card, uid=uid).status_code == 302
    assert (Stop.objects.count(), kinds(before)) == (1, ["scheduling.stop_planned"])


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"at": ""}, "No day and time. Write when you said you would come."),
        ({"at": "soon"}, "That is no day and time."),
        ({"at": "1900-01-01T08:00"}, "Read the year again."),
        ({"at": "9999-01-01T08:00"}, "Read the year again."),
        ({"at": "2027-03-28T02:30"}, "The clocks change in that hour."),
        ({"minutes": ""}, "Empty. Write minutes from 5 to 960."),
        ({"minutes": "5940"}, "5940 is not from 5 to 960 minutes. Read it again."),
        ({"minutes": "-5"}, "“-5” is not minutes. Write figures from 5 to 960."),
        ({"km_each_way": "2001"}, "2001 is not from 0 to 2,000 km."),
        ({"km_each_way": HOSTILE}, "is not km"),
        ({"km_each_way": "1e3"}, "is not km"),
        ({"minutes_each_way": "9" * 10_000}, "is not minutes"),
        ({"uid": "1"}, "The page has lost its number."),
        ({"uid": ""}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(card, as_mechanic, typed, sentence):
    before = told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    for name, value in (GOOD | typed).items():
        if name != "uid" and name != "at":
            assert value in text(answer), name
    assert HOSTILE not in answer.content.decode()
    assert (Stop.objects.count(), told()) == (0, before)
    card.refresh_from_db()
    assert card.due_at is None


def test_a_second_stop_of_the_card_at_that_time_is_refused(card, as_mechanic):
    sent(as_mechanic, card)
    answer = sent(as_mechanic, card)
    assert (answer.status_code, Stop.objects.count()) == (422, 1)
    assert "This card has a stop at that time already." in text(answer)


def test_the_number_of_another_cards_stop_is_refused(card, other, as_mechanic):
    taken = plan(other)
    answer = sent(as_mechanic, card, uid=str(taken.uid))
    assert answer.status_code == 422
    assert "This stop already stands on another card." in text(answer)


def test_a_closed_card_takes_no_stop(card, as_mechanic):
    jobs.cancel_card(TESTER, card, "Sold.", billed=lambda card: "")
    assert "New stop" not in text(as_mechanic.get(address(card)))
    assert sent(as_mechanic, card).status_code == 422
    with pytest.raises(Refused, match="is cancelled"):
        plan(card)


def test_who_may_plan(card, client, as_owner, as_office, as_bookkeeper):
    found = [sent(each, card, at=f"2026-11-25T1{n}:00").status_code for n, each in enumerate((client, as_owner, as_office, as_bookkeeper))]
    assert found == [302, 302, 302, 403]
    assert Stop.objects.count() == 2
