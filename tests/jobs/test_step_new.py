"""jobs:step_new, an access step."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import TESTER, a_uid, dairy_card, kinds, told
from workshop.jobs import actions
from workshop.jobs.actions import Refused
from workshop.jobs.models import CardStep, StepNeeds

GOOD = {"words": "Gearbox out", "open_minutes": "78", "close_minutes": "92", "material_words": "bolts, oil", "material_amount": "50,40"}


def sent(client, card, **typed):
    return client.post(reverse("jobs:step_new", args=[card.pk]), {**GOOD, "uid": a_uid(), **typed})


def test_it_is_kept_with_its_minutes_and_what_must_be_open_before(company, as_mechanic):
    card = dairy_card()
    tray = actions.add_step(TESTER, card, words="Tray", open_minutes=8, close_minutes=8)
    before = told()
    assert sent(as_mechanic, card, needs=[tray.pk]).status_code == 302
    step = CardStep.objects.get(words="Gearbox out")
    assert (step.position, step.open_minutes, step.close_minutes, step.material_amount) == (2, 78, 92, Decimal("50.40"))
    assert step.needs.get().needs == tray
    assert kinds(before) == ["jobs.step_added"]


def test_the_same_page_sent_twice_is_one_step(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    sent(as_mechanic, card, uid=uid)
    sent(as_mechanic, card, uid=uid)
    assert CardStep.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "Nothing written."),
        ({"open_minutes": "99999"}, "99999 minutes are 1,666 hours."),
        ({"close_minutes": "1.5"}, "is not whole minutes"),
        ({"material_amount": "1e9"}, "is not an amount"),
        ({"material_words": ""}, "A price for what?"),
        ({"open_minutes": "0", "close_minutes": "", "material_amount": "", "material_words": ""}, "No minutes and nothing used up."),
        ({"uid": "1"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (CardStep.objects.count(), told()) == (0, before)


def test_a_step_of_another_card_is_refused(company, as_mechanic):
    card, other = dairy_card(), dairy_card()
    actions.add_step(TESTER, card, words="Mine", open_minutes=1, close_minutes=1)
    theirs = actions.add_step(TESTER, other, words="Theirs", open_minutes=1, close_minutes=1)
    assert sent(as_mechanic, card, needs=[theirs.pk]).status_code == 422
    with pytest.raises(Refused, match="stands on another card"):
        actions.add_step(TESTER, card, words="Cover", open_minutes=1, close_minutes=1, needs=[theirs])


def test_steps_in_a_circle_are_refused_by_name(company):
    """No page can make a circle; a hand in the records could."""
    card = dairy_card()
    first = actions.add_step(TESTER, card, words="Tray", open_minutes=1, close_minutes=1)
    second = actions.add_step(TESTER, card, words="Drain", open_minutes=1, close_minutes=1, needs=[first])
    StepNeeds.objects.create(step=first, needs=second)
    with pytest.raises(Refused, match="circle"):
        actions.add_step(TESTER, card, words="Cover", open_minutes=1, close_minutes=1)
    assert CardStep.objects.count() == 2
