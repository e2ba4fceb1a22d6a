"""jobs:start, jobs:finish, jobs:ready, jobs:close: the buttons of the card."""

import pytest
from django.urls import reverse

from tests.jobs.cards import TESTER, dairy_card, kinds, seal_line, told
from workshop.jobs import actions
from workshop.jobs.models import Card, Hold, Line


def pressed(client, button, thing):
    return client.post(reverse(button, args=[thing.uid if isinstance(thing, Line) else thing.pk]))


def refused(client, button, thing, sentence):
    before = told()
    answer = pressed(client, button, thing)
    assert answer.status_code == 409
    assert sentence in answer.content.decode()
    assert told() == before


def test_a_line_is_started_and_finished_the_card_made_ready_and_closed(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card)
    before = told()
    for button, thing in (("jobs:start", line), ("jobs:finish", line), ("jobs:ready", card), ("jobs:close", card)):
        assert pressed(as_mechanic, button, thing).status_code == 302
    assert kinds(before) == ["jobs.line_started", "jobs.line_finished", "jobs.ready", "jobs.closed"]
    line.refresh_from_db()
    card.refresh_from_db()
    assert (line.progress, card.state) == ("done", "closed")
    assert line.done_at
    assert card.closed_at


@pytest.mark.parametrize("answer", ["draft", "offered"])
@pytest.mark.parametrize("button", ["jobs:start", "jobs:finish"])
def test_work_waits_for_the_customer(company, as_mechanic, button, answer):
    card = dairy_card()
    line = seal_line(card, accepted=False)
    if answer != "draft":
        actions.write_answers(card, {line.pk: answer})
    refused(as_mechanic, button, line, "Work begins when the customer has accepted it.")


def test_a_second_press_of_done_is_refused(company, as_mechanic):
    line = seal_line(dairy_card())
    pressed(as_mechanic, "jobs:finish", line)
    refused(as_mechanic, "jobs:finish", line, "already.")
    refused(as_mechanic, "jobs:start", line, "Line 1 is done already.")


def test_a_hold_on_start_stops_the_start_and_the_end(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card)
    hold = actions.write_hold(card, None, Hold.Stops.START, "Do not work here: slope.", "inspections")
    refused(as_mechanic, "jobs:start", line, "Line 1 is held. Do not work here: slope.")
    refused(as_mechanic, "jobs:finish", line, "Line 1 is held.")
    actions.write_release(hold, "Ada", "moved to the yard")
    assert pressed(as_mechanic, "jobs:start", line).status_code == 302


def test_a_critical_line_cannot_be_done_before_the_worksheets_say_so(company, as_mechanic):
    refused(as_mechanic, "jobs:finish", seal_line(dairy_card(), critical=True), "Line 1 is held. Critical")


def test_ready_waits_for_every_accepted_line_and_for_holds(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card)
    refused(as_mechanic, "jobs:ready", card, "Line 1 is accepted and not done.")
    actions.finish_line(TESTER, line)
    actions.write_hold(card, None, Hold.Stops.READY, "Flywheel sheet is missing.", "inspections")
    refused(as_mechanic, "jobs:ready", card, "Not ready. Flywheel sheet is missing.")


def test_a_card_is_closed_only_when_ready_and_stays_closed(company, as_mechanic):
    card = dairy_card()
    refused(as_mechanic, "jobs:close", card, "The card is open and cannot become closed.")
    Card.objects.filter(pk=card.pk).update(state="closed")
    for button in ("jobs:ready", "jobs:close"):
        refused(as_mechanic, button, card, "is closed. Take a new enquiry")


def test_an_answer_that_cannot_follow_is_refused(company):
    card = dairy_card()
    line = seal_line(card)
    with pytest.raises(actions.Refused, match="accepted and cannot become offered"):
        actions.write_answers(card, {line.pk: "offered"})
    actions.write_answers(card, {line.pk: "accepted"})
    with pytest.raises(ValueError, match="Not every line"):
        actions.write_answers(dairy_card(), {line.pk: "accepted"})


@pytest.mark.parametrize("button", ["jobs:start", "jobs:finish", "jobs:ready", "jobs:close"])
@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_presses_them(company, request, who, button):
    card = dairy_card()
    line = seal_line(card)
    assert pressed(request.getfixturevalue(who), button, line if button in {"jobs:start", "jobs:finish"} else card).status_code == 403


@pytest.mark.parametrize("button", ["jobs:start", "jobs:finish", "jobs:ready", "jobs:close"])
def test_looking_at_a_button_does_nothing(company, as_mechanic, button):
    card = dairy_card()
    line = seal_line(card)
    thing = line.uid if button in {"jobs:start", "jobs:finish"} else card.pk
    assert as_mechanic.get(reverse(button, args=[thing])).status_code == 405
