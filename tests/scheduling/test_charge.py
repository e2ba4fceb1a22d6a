"""scheduling:charge, the call-out as a line of the card."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.scheduling.stops import TESTER, TODAY, kinds, plan, text, told
from workshop.company.models import CallOutRule
from workshop.jobs import actions as jobs
from workshop.jobs.models import Line
from workshop.scheduling import actions


def press(client, stop, shown="137.63"):
    return client.post(reverse("scheduling:charge", args=[stop.uid]), {"shown": shown})


@pytest.fixture
def stop(card):
    return plan(card, km="34")


def test_it_is_a_draft_line_with_its_price_and_how_it_came_about(stop, card, as_mechanic):
    before = told()
    assert press(as_mechanic, stop).headers["Location"] == f"/m/card/{card.pk}/"
    line = card.lines.get()
    assert (line.kind, line.answer, line.fixed_amount) == (Line.Kind.FIRST_PRICE, Line.Answer.DRAFT, Decimal("137.63"))
    assert line.fixed_reason == "34.0 km and 41 min each way, 2026-11-25 10:00"
    assert kinds(before) == ["jobs.line_added"]


def test_pressed_twice_it_is_one_line(stop, card, as_mechanic):
    before = told()
    press(as_mechanic, stop)
    press(as_mechanic, stop)
    assert card.lines.count() == 1 and kinds(before) == ["jobs.line_added"]


def test_a_round_rewrites_the_draft(stop, card, other, as_mechanic):
    """34 of 62 km alone: 68 and 56 share 71 as 38.9 and 32.1 (38.94, 32.06); 18.9 beyond the free 20 at 0.62 is 11.72; 118.x with time."""
    press(as_mechanic, stop)
    plan(other, 14, km="28", drive=28)
    actions.set_round(TESTER, TODAY, km=Decimal("71.0"), minutes=None, seen="")
    before = told()
    stale = press(as_mechanic, stop)
    assert stale.status_code == 409 and "The call-out is 119.59 now, not what you saw." in text(stale)
    assert told() == before
    assert press(as_mechanic, stop, "119.59").status_code == 302
    line = card.lines.get()
    assert line.fixed_amount == Decimal("119.59")  # 45.00 + 11.72 + 62.87
    assert line.fixed_reason == "38.9 km and 82 min of the round of 2026-11-25; alone 137.63"
    assert kinds(before) == ["jobs.line_changed"]


def test_what_a_customer_has_seen_is_not_rewritten(stop, card, as_mechanic):
    press(as_mechanic, stop)
    jobs.write_answers(card, {card.lines.get().pk: Line.Answer.OFFERED})
    actions.change_stop(TESTER, stop, seen=stop.changes, at=stop.planned_at, minutes=90, km_each_way=Decimal(40), minutes_each_way=41)
    answer = press(as_mechanic, stop, "145.07")
    assert answer.status_code == 409 and "Line 1 went to the customer at 137.63. Strike it" in text(answer)


def test_a_struck_line_is_followed_by_a_new_one(stop, card, as_mechanic):
    press(as_mechanic, stop)
    jobs.strike_line(TESTER, card.lines.get(), "Agreed to come for nothing.", billed=lambda line: "")
    press(as_mechanic, stop)
    assert [line.answer for line in card.lines.all()] == ["withdrawn", "draft"]


@pytest.mark.parametrize("shown", ["", "0", "-1", "<script>", "9" * 5000])
def test_a_price_that_was_not_shown_is_refused(stop, card, as_mechanic, shown):
    before, answer = told(), press(as_mechanic, stop, shown)
    assert answer.status_code == 409 and "The call-out is 137.63 now" in text(answer)
    assert (card.lines.count(), told()) == (0, before)


def test_without_a_rule_there_is_nothing_to_charge(stop, card, as_mechanic):
    CallOutRule.objects.all().delete()
    answer = press(as_mechanic, stop)
    assert answer.status_code == 409 and "No call-out rule on 2026-11-25." in text(answer)


def test_a_call_out_that_is_on_the_card_already_is_named(stop, card, as_mechanic):
    jobs.add_line(TESTER, card, kind="first_price", words="Call-out 34 km", fixed_amount=Decimal("137.63"))
    said = text(as_mechanic.get(reverse("scheduling:visit", args=[stop.uid])))
    assert "On the card already: line 1, Call-out 34 km, 137.63." in said


def test_who_may_charge(stop, client, as_owner, as_office, as_bookkeeper):
    assert [press(each, stop).status_code for each in (client, as_office, as_bookkeeper, as_owner)] == [302, 403, 403, 302]
