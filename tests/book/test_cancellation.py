"""book:cancellation, a card that comes to nothing."""

import uuid

import pytest
from django.urls import reverse

from tests.invoices.making import ready_card
from tests.jobs.cards import TESTER, dairy_card, kinds, seal_line, told
from workshop.invoices import actions as invoices
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card
from workshop.quotes import actions as quotes


def sent(client, card, reason="Sold the lorry."):
    return client.post(reverse("book:cancellation", args=[card.pk]), {"reason": reason})


def refused(client, card, sentence, **more):
    state, before = Card.objects.get(pk=card.pk).state, told()
    answer = sent(client, card, **more)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (Card.objects.get(pk=card.pk).state, told()) == (state, before)


def test_a_cancelled_card_stays_with_everything_and_takes_nothing_new(company, as_office):
    card = dairy_card()
    seal_line(card)
    before = told()
    assert as_office.get(reverse("book:cancellation", args=[card.pk])).status_code == 200
    assert sent(as_office, card).headers["Location"] == reverse("jobs:card", args=[card.pk])
    card.refresh_from_db()
    assert (card.state, card.ended_reason, card.lines.count()) == ("cancelled", "Sold the lorry.", 1)
    assert kinds(before) == ["jobs.cancelled"]
    assert "Sold the lorry." in as_office.get(reverse("jobs:card", args=[card.pk])).content.decode()
    with pytest.raises(jobs.Refused):
        jobs.add_line(TESTER, card, kind="due", words="More")


def test_a_document_a_begun_line_and_an_open_quote_refuse_it(company, as_owner):
    billed = ready_card()
    document = invoices.issue_invoice(TESTER, billed, request_uid=uuid.uuid4())
    refused(as_owner, billed, f"{document.number} was issued on this card.")
    begun = dairy_card()
    jobs.start_line(TESTER, seal_line(begun))
    refused(as_owner, begun, "was ordered and is started")
    offered = dairy_card()
    seal_line(offered, accepted=False)
    quotes.send_version(TESTER, offered, for_whom="Ilse Brackwater")
    refused(as_owner, offered, "Take the quote back")


def test_no_reason_twice_and_a_closed_card_are_refused(company, as_owner):
    card = dairy_card()
    refused(as_owner, card, "No reason.", reason="")
    sent(as_owner, card)
    refused(as_owner, card, "cancelled already")
    closed = dairy_card()
    jobs.mark_ready(TESTER, closed)
    jobs.close_card(TESTER, closed)
    refused(as_owner, closed, "cannot become cancelled")


def test_the_mechanic_does_not_cancel(company, as_mechanic):
    assert sent(as_mechanic, dairy_card()).status_code == 403
