"""jobs:note and jobs:advise: what is said about a card."""

import pytest
from django.urls import reverse

from tests.jobs.cards import a_uid, dairy_card, kinds, told
from workshop.jobs.models import Note


def noted(client, card, **typed):
    return client.post(reverse("jobs:note", args=[card.pk]), {"op_uid": a_uid(), "words": "Key hangs in the milk room.", **typed})


def test_a_note_is_kept_under_the_number_of_its_page(company, as_mechanic):
    card, uid, before = dairy_card(), a_uid(), told()
    assert noted(as_mechanic, card, op_uid=uid).status_code == 302
    note = Note.objects.get()
    assert (str(note.uid), note.words, note.by) == (uid, "Key hangs in the milk room.", "Pip Tansley-Vole")
    assert kinds(before) == ["jobs.noted"]


def test_the_same_page_sent_twice_is_one_note(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    for _ in range(2):
        assert noted(as_mechanic, card, op_uid=uid).status_code == 302
    assert Note.objects.count() == 1


def test_other_words_under_the_same_number_are_kept_on_the_page_not_lost(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    noted(as_mechanic, card, op_uid=uid)
    answer = noted(as_mechanic, card, op_uid=uid, words="Second hook.")
    assert answer.status_code == 409
    assert "Second hook.</textarea>" in answer.content.decode()
    assert Note.objects.count() == 1


@pytest.mark.parametrize("typed", [{"words": ""}, {"words": " \n"}, {"words": "x" * 10_001}, {"op_uid": "x"}, {"op_uid": ""}])
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed):
    card, before = dairy_card(), told()
    answer = noted(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode()
    assert (Note.objects.count(), told()) == (0, before)


def advised(client, card, **typed):
    return client.post(reverse("jobs:advise", args=[card.pk]), typed)


def test_it_is_said_whether_the_vehicle_may_be_driven(company, as_mechanic):
    card = dairy_card()
    before = told()
    assert advised(as_mechanic, card, advice="do_not", words="Clutch slips.").status_code == 302
    card.refresh_from_db()
    assert (card.drive_advice, card.drive_words) == ("do_not", "Clutch slips.")
    assert kinds(before) == ["jobs.advised"]


@pytest.mark.parametrize(
    ("typed", "status"),
    [({"advice": "fly"}, 409), ({}, 409), ({"advice": "do_not", "words": " "}, 409), ({"advice": "safe", "words": "x" * 201}, 422)],
)
def test_advice_that_is_refused_changes_nothing(company, as_mechanic, typed, status):
    card = dairy_card()
    before = told()
    assert advised(as_mechanic, card, **typed).status_code == status
    card.refresh_from_db()
    assert (card.drive_advice, told()) == ("", before)


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_writes(company, request, who):
    card = dairy_card()
    assert noted(request.getfixturevalue(who), card).status_code == 403
    assert advised(request.getfixturevalue(who), card, advice="safe").status_code == 403
