"""book:complaint and book:corrections, the customer's words put right."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.book.making import pads
from tests.jobs.cards import HOSTILE, TESTER, WORDS, dairy_card, fill, kinds, told
from workshop.history.models import Event
from workshop.jobs import actions as jobs


def sent(client, complaint, **typed):
    what = {"words": "Races on the hill, smells burnt.", "reason": "Heard wrongly on the telephone.", **typed}
    return client.post(reverse("book:complaint", args=[complaint.uid]), what)


def test_the_new_words_stand_there_and_the_old_in_the_history(company, as_office):
    complaint = dairy_card().complaints.get()
    assert WORDS in as_office.get(reverse("book:complaint", args=[complaint.uid])).content.decode()
    before = told()
    assert sent(as_office, complaint).status_code == 302
    complaint.refresh_from_db()
    assert complaint.words == "Races on the hill, smells burnt."
    assert kinds(before) == ["jobs.complaint_changed"]
    assert WORDS in Event.objects.get(kind="jobs.complaint_changed").payload


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "Nothing written."),
        ({"words": "x" * 10_000}, "10,000 characters."),
        ({"reason": ""}, "No reason."),
        ({"words": WORDS}, "the words that stand there"),
    ],
)
def test_refused_with_what_was_typed(company, as_office, typed, sentence):
    complaint, before = dairy_card().complaints.get(), told()
    answer = sent(as_office, complaint, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    complaint.refresh_from_db()
    assert (complaint.words, told()) == (WORDS, before)


def test_hostile_words_are_inert(company, as_office):
    complaint = dairy_card().complaints.get()
    sent(as_office, complaint, words=HOSTILE, reason=HOSTILE)
    for address in (reverse("jobs:card", args=[complaint.card_id]), reverse("book:corrections", args=[complaint.card_id])):
        assert HOSTILE not in as_office.get(address).content.decode()


def test_corrections_lead_to_everything_by_role(company, as_owner, as_mechanic, as_office):
    card = dairy_card()
    finding, line = pads(card)
    places = {
        "strike": reverse("book:strike", args=[line.uid]),
        "finding": reverse("book:finding_move", args=[finding.uid]),
        "photo": reverse("book:photo_move", args=[finding.photos.get().pk]),
        "cancel": reverse("book:cancellation", args=[card.pk]),
    }
    seen = {}
    for role, client in (("owner", as_owner), ("mechanic", as_mechanic), ("office", as_office)):
        text = client.get(reverse("book:corrections", args=[card.pk])).content.decode()
        seen[role] = {name for name, address in places.items() if address in text}
    assert seen == {"owner": set(places), "mechanic": {"strike", "finding", "photo"}, "office": {"cancel"}}


@pytest.mark.parametrize("count", [1, 12])
def test_corrections_ask_the_same_few_questions(company, as_owner, count):
    card = dairy_card()
    fill(card, count)
    page = reverse("book:corrections", args=[card.pk])
    as_owner.get(page)
    with CaptureQueriesContext(connection) as asked:
        as_owner.get(page)
    assert len(asked) <= 12


def test_a_cancelled_card_keeps_the_words_that_stand_there(company, as_office):
    card = dairy_card()
    jobs.cancel_card(TESTER, card, "Sold.", billed=lambda _: "")
    before = told()
    answer = sent(as_office, card.complaints.get())
    assert answer.status_code == 422
    assert "is cancelled. Its words stay as they are." in answer.content.decode()
    assert (card.complaints.get().words, told()) == (WORDS, before)
