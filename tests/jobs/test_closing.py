"""jobs:closing, what is open before the card is closed; what a button did is said."""

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, dairy_card, seal_line, told
from workshop.jobs import actions
from workshop.jobs.models import Card


def text_of(client, card):
    answer = client.get(reverse("jobs:closing", args=[card.pk]))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def test_it_lists_complaints_without_an_outcome_and_lines_not_now(company, as_mechanic):
    card = dairy_card()
    done, pads, open_ = (seal_line(card, accepted=False, words=words) for words in ("Seal", "Front pads", "Filter"))
    actions.write_answers(card, {done.pk: "accepted", pads.pk: "offered"})
    actions.write_answers(card, {pads.pk: "not_now"})
    actions.finish_line(TESTER, done)
    Card.objects.update(state="ready")
    before = told()
    text = text_of(as_mechanic, card)
    for said in ("Races on the climb", "Line 2, Front pads", "Line 3, Filter: not offered yet", "Line 1, Seal", "waits for its invoice"):
        assert said in text
    assert told() == before
    assert "Close card" in text
    assert reverse("jobs:closing", args=[card.pk]) in as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode()
    assert open_.answer == "draft"


def test_what_a_button_did_is_said_on_the_card(company, as_mechanic):
    card = dairy_card()
    line, complaint = seal_line(card), card.complaints.get()
    presses = [
        ("jobs:start", line.uid, {}, "Your clock runs on line 1."),
        ("jobs:finish", line.uid, {}, "Line 1 is done."),
        ("jobs:ready", card.pk, {}, "The vehicle is ready."),
        ("jobs:outcome", complaint.uid, {"outcome": "cured"}, "is cured."),
        ("jobs:close", card.pk, {}, "The card is closed."),
    ]
    for button, thing, typed, said in presses:
        assert said in as_mechanic.post(reverse(button, args=[thing]), typed, follow=True).content.decode()


def test_hostile_words_stand_there_inert(company, as_mechanic):
    card = dairy_card(words=HOSTILE)
    seal_line(card, words=HOSTILE)
    assert HOSTILE not in text_of(as_mechanic, card)


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_may_close_it_sees_it(company, request, who):
    assert request.getfixturevalue(who).get(reverse("jobs:closing", args=[dairy_card().pk])).status_code == 403
