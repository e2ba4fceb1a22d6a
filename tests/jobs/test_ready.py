"""jobs:ready and jobs:close: what came up after a line was done or the vehicle was ready keeps it from leaving."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import SOURCE, TESTER, dairy_card, kinds, seal_line, told
from workshop.book import actions as book
from workshop.jobs import actions
from workshop.jobs.models import Card, Hold, Line
from workshop.specifications.actions import ValueIn
from workshop.worksheets import actions as worksheets


@pytest.fixture
def card(company):
    return dairy_card()


def value(number):
    return ValueIn(SOURCE, Decimal(number), "N·m")


def bracket(card):
    """A critical line with one joint, ticked and finished."""
    line = seal_line(card, critical=True)
    joint = worksheets.add_joint(TESTER, line, "Bracket", 2, value(25))
    worksheets.tick_joint(TESTER, joint, Decimal(25), "N·m", "T2")
    actions.finish_line(TESTER, line)
    return joint


def refused(verb, sentence):
    state, before = Card.objects.get().state, told()
    with pytest.raises(actions.Refused, match=sentence):
        verb()
    assert (Card.objects.get().state, told()) == (state, before)


def give(card):
    return book.hand_over(TESTER, Card.objects.get(pk=card.pk), "Tobin Marrow", keys_back=True)


def ready(card):
    """A card with one line done, said to be ready."""
    actions.finish_line(TESTER, seal_line(card))
    actions.mark_ready(TESTER, card)
    return card


def test_another_value_on_a_joint_of_a_line_that_is_done_keeps_it_here(card):
    joint = bracket(card)
    worksheets.give_value(TESTER, joint, value(30))
    refused(lambda: actions.mark_ready(TESTER, card), "Not ready. Critical: Bracket is not ticked.")
    worksheets.tick_joint(TESTER, joint, Decimal(30), "N·m", "T2")
    actions.mark_ready(TESTER, card)


def test_another_value_after_it_was_ready_keeps_it_here_too(card):
    joint = bracket(card)
    actions.mark_ready(TESTER, card)
    worksheets.give_value(TESTER, joint, value(30))
    refused(lambda: give(card), "It may not leave. Critical: Bracket is not ticked.")
    refused(lambda: actions.close_card(TESTER, card), "Not ready. Critical: Bracket is not ticked.")
    worksheets.tick_joint(TESTER, joint, Decimal(30), "N·m", "T2")
    give(card)
    actions.close_card(TESTER, card)


def test_a_critical_line_that_was_not_ordered_or_not_begun_keeps_no_cancelled_card(card):
    seal_line(card, critical=True)
    seal_line(card, critical=True, accepted=False)
    actions.cancel_card(TESTER, card, "Sold.", billed=lambda _: "")
    assert Hold.objects.filter(released_at=None).count() == 2
    give(card)


def test_a_step_opened_on_a_ready_card_opens_it_again(card):
    step = actions.add_step(TESTER, card, words="Tray", open_minutes=1, close_minutes=1)
    actions.finish_line(TESTER, seal_line(card, steps=[step]))
    actions.mark_ready(TESTER, card)
    before = told()
    episode = actions.open_step(TESTER, step)
    assert (Card.objects.get().state, kinds(before)) == ("open", ["jobs.step_opened"])
    refused(lambda: give(card), "not ready yet")
    refused(lambda: actions.mark_ready(TESTER, card), "Tray is still open.")
    actions.begin_closing(TESTER, episode, None, "dark")
    actions.end_closing(TESTER, episode)
    actions.mark_ready(TESTER, card)
    give(card)


@pytest.mark.parametrize("begin", ["nothing", "start_line", "start_spell"])
def test_a_line_accepted_on_a_ready_card_opens_it_again(card, mechanic, begin):
    ready(card)
    line = seal_line(card, words="Mount")
    assert Card.objects.get().state == "open"
    if begin != "nothing":
        getattr(actions, begin)(TESTER, line, *([mechanic] if begin == "start_spell" else []))
    refused(lambda: actions.close_card(TESTER, card), "The card is open and cannot become closed.")
    refused(lambda: actions.mark_ready(TESTER, card), "Line 2 is accepted and not done.")
    actions.finish_line(TESTER, line)
    actions.mark_ready(TESTER, card)
    actions.close_card(TESTER, card)


@pytest.mark.parametrize("begin", ["start_line", "start_spell"])
def test_work_begun_on_a_ready_card_opens_it_again(card, mechanic, begin):
    line = seal_line(card)
    Card.objects.update(state="ready")  # as no verb leaves it, and an older version did
    refused(lambda: actions.close_card(TESTER, card), "Line 1 is accepted and not done.")
    refused(lambda: give(card), "Line 1 is accepted and not done.")
    getattr(actions, begin)(TESTER, line, *([mechanic] if begin == "start_spell" else []))
    assert Card.objects.get().state == "open"


@pytest.mark.parametrize("answer", ["offered", "not_now"])
def test_what_is_only_offered_leaves_it_ready(card, answer):
    ready(card)
    line = seal_line(card, accepted=False)
    actions.write_answers(card, {line.pk: "offered"})
    if answer != "offered":
        actions.write_answers(card, {line.pk: answer})
    assert Card.objects.get().state == "ready"


def test_a_part_to_be_taught_in_keeps_it_from_being_closed(card):
    ready(card)
    (part,) = worksheets.fit_parts(TESTER, card, "Sensor", [worksheets.PartIn("steering column")], must_be_taught=True)
    refused(lambda: actions.close_card(TESTER, card), "Not ready. Not taught in: Sensor steering column.")
    worksheets.teach_in(TESTER, card, part, "accepted")
    actions.close_card(TESTER, card)


def test_a_ready_vehicle_that_is_left_is_not_handed_over(card):
    ready(card)
    where = {"state": "whole", "supports": "its wheels", "keys": "hook", "told": "Ilse"}
    leaving = actions.leave_vehicle(TESTER, card, **where, wheels_on=True, no_start_card=False)
    refused(lambda: give(card), "The vehicle was left on")
    actions.come_back(TESTER, leaving, found="as_left")
    give(card)


def test_an_open_step_of_a_ready_card_keeps_it_here(card):
    step = actions.add_step(TESTER, card, words="Tray", open_minutes=1, close_minutes=1)
    line = seal_line(card, steps=[step])
    actions.open_step(TESTER, step)
    actions.finish_line(TESTER, line)
    Card.objects.update(state="ready")
    refused(lambda: give(card), "Tray is still open.")


def test_a_call_out_is_done_by_coming(company, as_mechanic):
    """An accepted call-out wants no tap, and by itself it is no reason to say that the vehicle is ready."""
    card = dairy_card()
    call_out = actions.add_line(TESTER, card, kind="first_price", words="Call-out", fixed_amount=Decimal("137.63"))
    actions.write_answers(card, {call_out.pk: Line.Answer.ACCEPTED})
    assert "Mark ready" not in as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode().split('class="bar"')[-1]
    line = seal_line(card)
    actions.finish_line(TESTER, line)
    assert actions.mark_ready(TESTER, card).state == Card.State.READY
