"""jobs:line_new, a line of work."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, told
from workshop.jobs import actions
from workshop.jobs.actions import lines
from workshop.jobs.models import Hold, Line

GOOD = {"kind": "failed", "words": "Rear crank seal", "own_minutes": "34", "part_words_0": "Seal", "part_amount_0": "41,20"}


def sent(client, card, **typed):
    return client.post(reverse("jobs:line_new", args=[card.pk]), {**GOOD, "uid": a_uid(), **typed})


def test_minutes_and_parts_become_a_line_and_the_card_says_what_it_costs(company, as_mechanic):
    """34 min at 78.00 an hour are 44.20, with the seal 85.40 net, 104.19 with 22 %; own exact arithmetic, no published source."""
    card, before = dairy_card(), told()
    answer = as_mechanic.post(reverse("jobs:line_new", args=[card.pk]), {**GOOD, "uid": a_uid()}, follow=True)
    line = Line.objects.get()
    assert (line.number, line.own_minutes, line.answer) == (1, 34, "draft")
    assert line.parts.get().amount == Decimal("41.20")
    assert "Line 1 is on the card: 85.40 net. All lines: 104.19 with tax." in answer.content.decode()
    assert kinds(before) == ["jobs.line_added"]


def test_words_and_a_fixed_price_are_a_whole_line(company, as_mechanic):
    sent(as_mechanic, dairy_card(), own_minutes="", part_words_0="", part_amount_0="", fixed_amount="1,234.50")
    assert Line.objects.get().fixed_amount == Decimal("1234.50")


def test_it_needs_the_access_that_was_ticked(company, as_mechanic):
    card = dairy_card()
    step = actions.add_step(TESTER, card, words="Tray", open_minutes=8, close_minutes=8)
    sent(as_mechanic, card, steps=[step.pk])
    assert Line.objects.get().steps.get().step == step


def test_a_critical_line_is_born_held(company, as_mechanic):
    sent(as_mechanic, dairy_card(), critical="on")
    assert Hold.objects.get(released_at=None).stops == "done"


def test_the_same_page_sent_twice_is_one_line(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    before = told()
    sent(as_mechanic, card, uid=uid)
    sent(as_mechanic, card, uid=uid)
    assert Line.objects.count() == 1
    assert kinds(before) == ["jobs.line_added"]


def test_one_more_part_keeps_what_was_typed_and_saves_nothing(company, as_mechanic):
    answer = sent(as_mechanic, dairy_card(), more="1", own_minutes="x")
    text = answer.content.decode()
    assert answer.status_code == 200
    assert 'name="part_words_3"' in text
    assert 'value="Rear crank seal"' in text
    assert not Line.objects.exists()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "Nothing written."),
        ({"words": "x" * 10_000}, "10,000 characters. At most 200"),
        ({"own_minutes": "99999"}, "99999 minutes are 1,666 hours."),
        ({"own_minutes": "-5"}, "is not whole minutes"),
        ({"own_minutes": "9" * 5000}, "is not whole minutes"),
        ({"own_minutes": "a while"}, "is not whole minutes"),
        ({"part_amount_0": "1e9"}, "1e9 is not an amount"),
        ({"part_amount_0": "1000000000"}, "too large"),
        ({"part_amount_0": "2000000"}, "more than 1,000,000.00"),
        ({"part_amount_0": "-3"}, "below zero"),
        ({"part_amount_0": "1,234"}, "can be read two ways"),
        ({"part_amount_0": ""}, "No price for “Seal”"),
        ({"part_words_0": ""}, "A price for what?"),
        ({"own_minutes": "", "part_words_0": "", "part_amount_0": ""}, "No minutes, no part and no fixed price."),
        ({"fixed_amount": "10.00"}, "counts twice"),
        ({"part_quantity_0": "4 pcs"}, "is not a number"),
        ({"part_quantity_0": "-4"}, "is not a number"),
        ({"part_quantity_0": "1e3"}, "is not a number"),
        ({"part_quantity_0": "NaN"}, "is not a number"),
        ({"part_quantity_0": "0"}, "None of it."),
        ({"part_number_0": "x" * 10_000}, "10,000 characters. At most 60"),
        ({"part_number_0": "a\x00b"}, "no paper can print"),
        ({"part_reuse_0": "maybe"}, "Choose whether it may go back in."),
        ({"part_reuse_0": "yes"}, "Who says that it may go back in?"),
        ({"plain_words": "word " * 26}, "26 words. At most 25"),
        ({"kind": "nonsense"}, "Choose why this is done."),
        ({"uid": ""}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Line.objects.exists()
    assert told() == before


def test_a_step_of_another_card_is_refused(company, as_mechanic):
    card, other = dairy_card(), dairy_card()
    actions.add_step(TESTER, card, words="Mine", open_minutes=1, close_minutes=1)
    theirs = actions.add_step(TESTER, other, words="Theirs", open_minutes=1, close_minutes=1)
    answer = sent(as_mechanic, card, steps=[theirs.pk])
    assert answer.status_code == 422
    assert "That step is not on this card." in answer.content.decode()


def test_a_uid_of_another_card_is_refused(company, as_mechanic):
    uid = a_uid()
    sent(as_mechanic, dairy_card(), uid=uid)
    answer = sent(as_mechanic, dairy_card(), uid=uid)
    assert answer.status_code == 422
    assert "stands on another card" in answer.content.decode()


def test_what_was_typed_comes_back_inert(company, as_mechanic):
    text = sent(as_mechanic, dairy_card(), words=HOSTILE, own_minutes="x").content.decode()
    assert HOSTILE not in text
    assert "&lt;script&gt;" in text


def test_a_closed_card_takes_no_line(company, as_mechanic):
    card = dairy_card()
    actions.mark_ready(TESTER, card)
    actions.close_card(TESTER, card)
    answer = sent(as_mechanic, card)
    assert answer.status_code == 422
    assert "is closed. Take a new enquiry" in answer.content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_writes_lines(company, request, who):
    assert sent(request.getfixturevalue(who), dairy_card()).status_code == 403


def test_a_card_that_is_not_there_is_a_404(company, as_mechanic):
    assert as_mechanic.get(reverse("jobs:line_new", args=[987654321])).status_code == 404


def test_how_many_of_a_part_its_number_and_whether_it_goes_back_in(company, as_mechanic):
    more = {"part_quantity_0": "8,4", "part_number_0": "N 44-7", "part_reuse_0": "never", "part_fluid_0": "engine oil"}
    sent(as_mechanic, dairy_card(), **more)
    part = Line.objects.get().parts.get()
    assert (part.quantity, part.part_number, part.reuse, part.fluid) == (Decimal("8.4"), "N 44-7", "never", "engine oil")


def test_a_second_tap_that_comes_between_writes_no_second_history(company, monkeypatch):
    """The first look finds nothing, the line is there when it is written: one line of history, the line that is there."""
    card, uid = dairy_card(), uuid.UUID(a_uid())
    first = actions.add_line(TESTER, card, kind="due", words="Belt", fixed_amount=Decimal(5), uid=uid)
    before = told()
    monkeypatch.setattr(lines, "write_line", lambda *a, **k: Line.objects.create(uid=uid, card=card, number=9, kind="due", words="Belt"))
    real, looks = Line.objects.filter, []

    def late(**what):
        looks.append(what)
        return real(pk=0) if len(looks) == 1 else real(**what)

    monkeypatch.setattr(Line.objects, "filter", late)
    assert actions.add_line(TESTER, card, kind="due", words="Belt", uid=uid) == first
    assert told() == before
