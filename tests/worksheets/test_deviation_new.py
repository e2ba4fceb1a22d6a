"""worksheets:deviation_new: fitted or set otherwise than the maker says."""

import pytest
from django.urls import reverse

from tests.book.making import another_card
from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from workshop.jobs import actions as jobs
from workshop.worksheets import actions
from workshop.worksheets.models import Deviation

GOOD = {
    "makers_value": "Hose part H-4, moulded",
    "fitted_value": "Straight hose, 32 mm inside",
    "reason": "H-4 is not made any more.",
    "agreed_by": "Ilse Brackwater",
}


def write(client, card, **typed):
    return client.post(reverse("worksheets:deviation_new", args=[card.pk]), {**GOOD, "uid": a_uid(), "line": "", "joint": "", **typed})


def test_it_is_kept_once_with_one_line_of_history_and_stands_on_later_cards(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card)
    joint = actions.add_joint(TESTER, line, "Hose clamp")
    uid, before = a_uid(), told()
    for _ in range(2):
        assert write(as_mechanic, card, uid=uid, line=line.pk, joint=joint.pk).status_code == 302
    kept = Deviation.objects.get()
    assert (kept.line, kept.joint, kept.agreed_by, kept.by) == (line, joint, "Ilse Brackwater", "Pip Tansley-Vole")
    assert kinds(before) == ["worksheets.deviated"]
    text = as_mechanic.get(reverse("worksheets:deviation_new", args=[another_card(card).pk])).content.decode()
    assert "Straight hose, 32 mm inside" in text
    assert f"card {card}" in text


@pytest.mark.parametrize("name", list(GOOD))
@pytest.mark.parametrize(("words", "sentence"), [("", "e written."), ("x" * 10_000, "10,000 characters.")])
def test_a_missing_or_endless_word_is_refused(company, as_mechanic, name, words, sentence):
    card, before = dairy_card(), told()
    answer = write(as_mechanic, card, **{name: words})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert (sentence if words else "No") in text
    assert (Deviation.objects.count(), told()) == (0, before)


def test_another_cards_line_and_joint_a_struck_line_and_a_closed_card(company, as_mechanic):
    card, other = dairy_card(), dairy_card(vehicle={"make": "Ostrel", "model": "Wander 28"})
    line = seal_line(other)
    joint = actions.add_joint(TESTER, line, "Clamp")
    assert "That line is not on this card." in write(as_mechanic, card, line=line.pk).content.decode()
    assert "That joint is not on this card." in write(as_mechanic, card, joint=joint.pk).content.decode()
    jobs.mark_ready(TESTER, card)
    jobs.close_card(TESTER, card)
    assert write(as_mechanic, card).status_code == 422
    assert not Deviation.objects.exists()


def test_hostile_text_is_inert(company, as_mechanic):
    card = dairy_card()
    write(as_mechanic, card, fitted_value=HOSTILE)
    assert HOSTILE not in as_mechanic.get(reverse("worksheets:deviation_new", args=[card.pk])).content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles(company, request, who):
    assert write(request.getfixturevalue(who), dairy_card()).status_code == 403
