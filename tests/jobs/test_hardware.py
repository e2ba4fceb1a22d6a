"""jobs:fitted_new, jobs:in_hand: hardware that is never used again. Story 12 of the job: 4 stretch bolts, 3 in hand."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import TESTER, dairy_card, kinds, seal_line, told
from tests.jobs.test_spells import press, refused, sheet
from workshop.jobs import actions
from workshop.jobs.models import Card, LinePart


@pytest.fixture
def bolts(company):
    line = seal_line(dairy_card(), parts=[actions.PartIn("stretch bolts", Decimal("9.60"), quantity=4)])
    line.parts.update(reuse="never", reuse_source="maker's manual 7-14")
    return line.parts.get()


def test_three_of_four_in_hand_is_told_before_anything_is_opened(bolts, as_mechanic):
    before = told()
    for _ in range(2):
        assert press(as_mechanic, "jobs:in_hand", bolts.pk, in_hand="3").status_code == 302
    assert kinds(before) == ["jobs.counted"]
    assert "Waiting: 1 stretch bolts" in sheet(as_mechanic, bolts.line.card)
    assert "Waiting for parts:" in as_mechanic.get(reverse("jobs:card", args=[bolts.line.card_id])).content.decode()
    press(as_mechanic, "jobs:in_hand", bolts.pk, in_hand="4")
    assert "Waiting:" not in sheet(as_mechanic, bolts.line.card)


@pytest.mark.parametrize(
    ("number", "status", "sentence"),
    [
        ("", 422, "is no count of stretch bolts"),
        ("three", 422, "is no count of stretch bolts"),
        ("-1", 409, "That is no count."),
        ("NaN", 409, "That is no count."),
        ("1e9", 409, "That is no count."),
        ("0.0001", 409, "That is no count."),
        ("<script>", 422, "&lt;script&gt;"),
    ],
)
def test_what_is_no_count_is_refused(bolts, as_mechanic, number, status, sentence):
    refused(as_mechanic, "jobs:in_hand", bolts.pk, sentence, status=status, in_hand=number)
    assert LinePart.objects.get().in_hand is None


def test_a_line_is_not_done_before_new_ones_are_ticked(bolts, as_mechanic):
    refused(as_mechanic, "jobs:finish", bolts.line.uid, "4 stretch bolts are single-use: tick that new ones are in.")
    before = told()
    for _ in range(2):
        press(as_mechanic, "jobs:fitted_new", bolts.pk)
    assert kinds(before) == ["jobs.fitted_new"]
    assert LinePart.objects.get().fitted_new_by == "Pip Tansley-Vole"
    assert press(as_mechanic, "jobs:finish", bolts.line.uid).status_code == 302
    refused(as_mechanic, "jobs:fitted_new", bolts.pk, "Its ticks stay.", back="1")


def test_a_tick_is_taken_back_and_the_line_waits_again(bolts, as_mechanic):
    press(as_mechanic, "jobs:fitted_new", bolts.pk)
    before = told()
    press(as_mechanic, "jobs:fitted_new", bolts.pk, back="1")
    assert kinds(before) == ["jobs.fitted_new_taken_back"]
    refused(as_mechanic, "jobs:finish", bolts.line.uid, "single-use")


def test_what_may_be_used_again_is_not_ticked(bolts, as_mechanic):
    LinePart.objects.update(reuse="yes")
    refused(as_mechanic, "jobs:fitted_new", bolts.pk, "may be used again")
    assert press(as_mechanic, "jobs:finish", bolts.line.uid).status_code == 302


def test_nothing_is_ticked_on_a_card_that_is_over_or_a_line_nobody_ordered(bolts, as_mechanic):
    other = seal_line(bolts.line.card, accepted=False)
    other.parts.update(reuse="never")
    refused(as_mechanic, "jobs:fitted_new", other.parts.get().pk, "Work begins when the customer has accepted it.")
    Card.objects.update(state="closed")
    for button in ("jobs:fitted_new", "jobs:in_hand"):
        refused(as_mechanic, button, bolts.pk, "Take a new enquiry", in_hand="1")


@pytest.mark.parametrize("button", ["jobs:fitted_new", "jobs:in_hand"])
def test_the_office_ticks_nothing(bolts, as_office, button):
    assert press(as_office, button, bolts.pk).status_code == 403


def test_one_that_is_single_use_is_one(company):
    line = seal_line(dairy_card())
    line.parts.update(reuse="never")
    with pytest.raises(actions.Refused, match=r"1 Seal is single-use"):
        actions.finish_line(TESTER, line)
