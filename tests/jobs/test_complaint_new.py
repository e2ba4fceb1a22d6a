"""jobs:complaint_new and jobs:outcome: each complaint by itself, what is asked about it, what comes of it."""

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, WORDS, a_uid, dairy_card, kinds, seal_line, told
from workshop.history.models import Event
from workshop.jobs import actions
from workshop.jobs.models import Card, Complaint

TOLD = {
    "noticed_by": "Tobin Marrow",
    "since": "Monday",
    "heat": "hot",
    "load": "uphill, full tank",
    "smoke": "blue",
    "lamps": "none",
    "last_work": "clutch, last spring",
    "tried": "a new belt",
}
GOOD = {"words": "Leaves a puddle overnight.", **TOLD}


def sent(client, card, known=None, **typed):
    asked = f"?complaint={known.uid}" if known else ""
    return client.post(reverse("jobs:complaint_new", args=[card.pk]) + asked, {"uid": a_uid(), **GOOD, **typed})


def shown(client, card):
    return " ".join(client.get(reverse("jobs:card", args=[card.pk])).content.decode().split())


@pytest.mark.parametrize("who", ["as_owner", "as_mechanic", "as_office"])
def test_one_more_complaint_stands_on_the_card_with_all_that_was_told(company, request, who):
    client, card, before = request.getfixturevalue(who), dairy_card(), told()
    assert sent(client, card).status_code == 302
    assert kinds(before) == ["jobs.complaint_added"]
    text = shown(client, card)
    for words in (
        WORDS,
        "Leaves a puddle overnight.",
        "since Monday",
        "uphill, full tank",
        "smoke: blue",
        "clutch, last spring",
        "a new belt",
    ):
        assert words in text


def test_the_same_page_sent_twice_is_one_complaint(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    for _ in range(2):
        assert sent(as_mechanic, card, uid=uid).status_code == 302
    assert card.complaints.count() == 2


def test_the_number_of_another_cards_complaint_is_refused(company, as_mechanic):
    card, other, uid = dairy_card(), dairy_card(), a_uid()
    sent(as_mechanic, card, uid=uid)
    answer = sent(as_mechanic, other, uid=uid)
    assert answer.status_code == 422
    assert "already stands on another card" in answer.content.decode()


def test_what_is_asked_later_is_added_and_the_words_stay(company, as_mechanic):
    card = dairy_card()
    known, before = card.complaints.get(), told()
    page = as_mechanic.get(reverse("jobs:complaint_new", args=[card.pk]), {"complaint": known.uid}).content.decode()
    assert WORDS in page
    assert 'name="words"' not in page
    assert sent(as_mechanic, card, known, words="Quite different.").status_code == 302
    known.refresh_from_db()
    assert {name: getattr(known, name) for name in TOLD} == TOLD
    assert known.words == WORDS
    assert kinds(before) == ["jobs.complaint_told"]
    assert sent(as_mechanic, card, known).status_code == 302
    assert len(kinds(before)) == 1


def test_what_was_told_before_stays_in_the_history(company, as_mechanic):
    card = dairy_card()
    known = card.complaints.get()
    sent(as_mechanic, card, known)
    sent(as_mechanic, card, known, since="Tuesday")
    assert "since “Monday” to “Tuesday”" in Event.objects.last().payload


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "Nothing written."),
        ({"words": "x" * 10_000}, "10,000 characters. At most 2,000"),
        ({"tried": "x" * 10_000}, "10,000 characters. At most 200"),
        ({"heat": "warm"}, "Choose one, or none."),
        ({"smoke": "pink"}, "Choose one, or none."),
        ({"lamps": "a\u202eb"}, "a sign in it that no paper can print"),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "clutch, last spring" in answer.content.decode()
    assert (Complaint.objects.count(), told()) == (1, before)


@pytest.mark.parametrize("asked", ["x", "00000000-0000-4000-8000-000000000000"])
def test_a_complaint_that_is_not_there_is_a_404(company, as_mechanic, asked):
    assert as_mechanic.get(reverse("jobs:complaint_new", args=[dairy_card().pk]), {"complaint": asked}).status_code == 404


def test_another_cards_complaint_is_a_404(company, as_mechanic):
    card, other = dairy_card(), dairy_card()
    assert sent(as_mechanic, card, other.complaints.get()).status_code == 404


def test_what_was_typed_stands_there_inert(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card, words=HOSTILE, tried=HOSTILE, last_work="=HYPERLINK(1)")
    assert HOSTILE not in shown(as_mechanic, card)


def test_a_closed_card_takes_no_more_complaints(company, as_mechanic):
    card = dairy_card()
    Card.objects.update(state="closed")
    answer = sent(as_mechanic, card)
    assert answer.status_code == 422
    assert "Take a new enquiry" in answer.content.decode()


def test_the_first_complaint_is_told_with_the_enquiry(company, as_mechanic):
    vehicle = {"make": "Ostrel", "model": "Wander 28", "phone": "+999 555 010 117", "kind": "private", "name": "Osgood Plumtree"}
    answer = as_mechanic.post(reverse("jobs:enquiry"), {"uid": a_uid(), **vehicle, **GOOD})
    assert answer.status_code == 302
    complaint = Complaint.objects.get()
    assert {name: getattr(complaint, name) for name in TOLD} == TOLD


def ended(client, complaint, outcome):
    return client.post(reverse("jobs:outcome", args=[complaint.uid]), {"outcome": outcome})


@pytest.mark.parametrize("outcome", ["cured", "better", "not_found", "not_done"])
def test_each_complaint_ends_in_one_of_four_words(company, as_mechanic, outcome):
    card = dairy_card()
    complaint, before = card.complaints.get(), told()
    for _ in range(2):
        assert ended(as_mechanic, complaint, outcome).status_code == 302
    complaint.refresh_from_db()
    assert complaint.outcome == outcome
    assert kinds(before) == ["jobs.complaint_ended"]
    assert outcome.replace("_", " ") in shown(as_mechanic, card)


@pytest.mark.parametrize("outcome", ["", "gone", HOSTILE])
def test_another_word_is_refused(company, as_mechanic, outcome):
    complaint, before = dairy_card().complaints.get(), told()
    answer = ended(as_mechanic, complaint, outcome)
    assert answer.status_code == 409
    assert "Choose one: cured, better" in answer.content.decode()
    complaint.refresh_from_db()
    assert (complaint.outcome, told()) == ("", before)


def test_a_cancelled_card_takes_no_outcome(company, as_mechanic):
    complaint = dairy_card().complaints.get()
    Card.objects.update(state="cancelled")
    assert ended(as_mechanic, complaint, "cured").status_code == 409


def test_the_card_asks_when_the_work_is_done_and_a_card_may_be_closed_without(company, as_mechanic):
    card = dairy_card()
    asks = "What came of each complaint?"
    line = seal_line(card)
    assert asks not in shown(as_mechanic, card)
    actions.finish_line(TESTER, line)
    assert asks in shown(as_mechanic, card)
    actions.mark_ready(TESTER, card)
    actions.close_card(TESTER, card)
    assert asks in shown(as_mechanic, card)
    ended(as_mechanic, card.complaints.get(), "cured")
    assert asks not in shown(as_mechanic, card)


def test_only_who_works_on_vehicles_says_what_came_of_it(company, as_office, as_bookkeeper):
    card = dairy_card()
    assert ended(as_office, card.complaints.get(), "cured").status_code == 403
    assert sent(as_bookkeeper, card).status_code == 403
