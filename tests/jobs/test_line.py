"""jobs:line, a draft line again."""

from decimal import Decimal

from django.urls import reverse

from tests.jobs.cards import a_uid, dairy_card, kinds, seal_line, told
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
