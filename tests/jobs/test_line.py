"""jobs:line, a draft line again."""

from decimal import Decimal

import pytest
from django.urls import reverse
from lxml import html

from tests.jobs.cards import TESTER, a_uid, dairy_card, kinds, seal_line, told
from workshop.jobs import actions
from workshop.jobs.models import Hold, Line


def page(line):
    return reverse("jobs:line", args=[line.uid])


def test_it_shows_what_is_there(company, as_mechanic):
    line = seal_line(dairy_card(), accepted=False)
    text = as_mechanic.get(page(line)).content.decode()
    for shown in ('value="Rear crank seal"', 'value="34"', 'value="41.20"'):
        assert shown in text


def test_it_is_put_right_with_one_line_of_history(company, as_mechanic):
    line = seal_line(dairy_card(), accepted=False, critical=True)
    before = told()
    typed = {"uid": a_uid(), "kind": "due", "words": "Input seal", "own_minutes": "22", "part_words_0": "Seal", "part_amount_0": "18.40"}
    assert as_mechanic.post(page(line), typed).status_code == 302
    line.refresh_from_db()
    assert (line.words, line.kind, line.own_minutes) == ("Input seal", "due", 22)
    assert [part.amount for part in line.parts.all()] == [Decimal("18.40")]
    assert not Hold.objects.filter(released_at=None).exists()
    assert kinds(before) == ["jobs.line_changed"]


def test_a_refused_box_changes_nothing(company, as_mechanic):
    line = seal_line(dairy_card(), accepted=False)
    before = told()
    answer = as_mechanic.post(page(line), {"uid": a_uid(), "kind": "due", "words": "", "own_minutes": "22"})
    assert answer.status_code == 422
    line.refresh_from_db()
    assert (line.words, told()) == ("Rear crank seal", before)


def test_what_the_customer_has_seen_is_followed_not_changed(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card, accepted=False)
    actions.write_answers(card, {line.pk: Line.Answer.OFFERED})
    for answer in (as_mechanic.get(page(line)), as_mechanic.post(page(line), {"words": "Other"})):
        assert answer.status_code == 409
        assert "Line 1 was shown to the customer. Add a new line instead." in answer.content.decode()
    assert kinds(0)[-1] == "jobs.line_added"


def whole_form(client, line):
    """The form of a line as the page shows it."""
    form = next(form for form in html.fromstring(client.get(page(line)).content.decode()).forms if "words" in form.fields)
    return {name: value for name, value in form.form_values() if name != "csrfmiddlewaretoken"}


def bolts(card):
    part = actions.PartIn("stretch bolt", Decimal("12.00"), Decimal("8.00"), Decimal("4.000"), "N 44-7", "never", "K1 manual", "")
    return seal_line(card, accepted=False, parts=[part])


def test_saving_a_draft_as_it_stands_loses_nothing_of_its_parts(company, as_mechanic):
    line = bolts(dairy_card())
    line.parts.update(in_hand=3)
    names = ("words", "amount", "cost", "quantity", "part_number", "reuse", "reuse_source", "fluid", "in_hand")
    before = list(line.parts.values_list(*names))
    assert as_mechanic.post(page(line), whole_form(as_mechanic, line)).status_code == 302
    assert list(line.parts.values_list(*names)) == before


def test_an_access_step_is_added_with_everything_typed_kept(company, as_mechanic):
    """Without script: the step's sheet carries the line along, and the line comes back with the step ticked."""
    line = bolts(dairy_card())
    typed = {**whole_form(as_mechanic, line), "words": "Rear seal & sleeve", "own_minutes": "x", "step": "1"}
    sheet = html.fromstring(as_mechanic.post(page(line), typed).content.decode())
    kept = sheet.xpath("//input[@name='kept']/@value")[0]
    where, before = reverse("jobs:step_new", args=[line.card_id]), told()
    assert as_mechanic.post(where, {"uid": a_uid(), "kept": kept, "words": ""}).content.decode().count('name="kept"') == 1
    answer = as_mechanic.post(where, {"uid": a_uid(), "kept": kept, "words": "Gearbox out", "open_minutes": "78"})
    again = next(form for form in html.fromstring(answer.content.decode()).forms if "own_minutes" in form.fields)
    assert again.action == page(line)
    back = dict(again.form_values())
    step = line.card.steps.get()
    assert (back["words"], back["own_minutes"], back["part_number_0"], back["steps"]) == ("Rear seal & sleeve", "x", "N 44-7", str(step.pk))
    assert kinds(before) == ["jobs.step_added"]
    assert 'value="Rear seal' in as_mechanic.post(where, {"kept": kept, "back": "1"}).content.decode()


def test_two_phones_at_once_the_second_is_told_and_keeps_what_it_typed(company, as_mechanic):
    line = bolts(dairy_card())
    old = whole_form(as_mechanic, line)
    assert as_mechanic.post(page(line), {**old, "own_minutes": "50"}).status_code == 302
    before = told()
    answer = as_mechanic.post(page(line), {**old, "words": "Typed on the second phone", "part_amount_0": "13.00"})
    assert answer.status_code == 422
    text = answer.content.decode()
    for said in ("Somebody changed line 1 meanwhile.", "Typed on the second phone", 'value="13.00"'):
        assert said in text
    line.refresh_from_db()
    assert (line.own_minutes, line.words, line.parts.get().amount, told()) == (50, "Rear crank seal", Decimal("12.00"), before)
    assert as_mechanic.post(page(line), {**whole_form(as_mechanic, line), "words": "Mine"}).status_code == 302


@pytest.mark.parametrize("what", ["parts", "steps"])
def test_other_parts_and_other_steps_make_the_page_old_too(company, as_mechanic, what):
    line = bolts(dairy_card())
    step = actions.add_step(TESTER, line.card, words="Tray", open_minutes=1, close_minutes=1)
    old = whole_form(as_mechanic, line)
    if what == "parts":
        line.parts.update(amount=Decimal("14.00"))
    else:
        line.steps.create(step=step)
    assert as_mechanic.post(page(line), {**old, "own_minutes": "50"}).status_code == 422


def test_a_second_tap_changes_once_and_a_count_makes_no_page_old(company, as_mechanic):
    line = bolts(dairy_card())
    old, before = {**whole_form(as_mechanic, line), "own_minutes": "50"}, told()
    line.parts.update(in_hand=3)
    for _ in range(2):
        assert as_mechanic.post(page(line), old).status_code == 302
    assert kinds(before) == ["jobs.line_changed"]
