"""book:strike, a line that should not be there."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.invoices.making import accept
from tests.jobs.cards import HOSTILE, TESTER, dairy_card, kinds, seal_line, told
from workshop.history.models import Event
from workshop.jobs import actions as jobs
from workshop.jobs.models import Line
from workshop.quotes import actions as quotes


def address(line):
    return reverse("book:strike", args=[line.uid])


def test_a_draft_is_struck_and_stays_with_its_reason(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card, accepted=False, critical=True)
    assert as_mechanic.get(address(line)).status_code == 200
    before = told()
    answer = as_mechanic.post(address(line), {"reason": "Typed on the wrong card."})
    assert answer.headers["Location"] == reverse("jobs:card", args=[card.pk])
    line.refresh_from_db()
    assert (line.answer, line.struck_reason) == ("withdrawn", "Typed on the wrong card.")
    assert not line.holds.filter(released_at=None).exists()
    assert kinds(before) == ["jobs.line_struck"]
    text = as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode()
    assert "withdrawn" in text
    assert "Typed on the wrong card." in text


def test_an_accepted_line_that_was_not_begun_can_be_struck(company, as_mechanic):
    line = seal_line(dairy_card())
    assert as_mechanic.post(address(line), {"reason": "Customer rang: leave it."}).status_code == 302


def refused(client, line, sentence, **typed):
    before, was = told(), Line.objects.values_list("answer", "struck_reason").get(pk=line.pk)
    answer = client.post(address(line), {"reason": "A reason.", **typed})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in text
    assert (told(), Line.objects.values_list("answer", "struck_reason").get(pk=line.pk)) == (before, was)
    return text


def test_one_that_lies_before_the_customer_is_refused_until_the_quote_is_back(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card, accepted=False)
    version = quotes.send_version(TESTER, card, for_whom="Ilse Brackwater")
    assert 'value="A reason."' in refused(as_mechanic, line, "Take the quote back")
    quotes.take_back(TESTER, version)
    assert as_mechanic.post(address(line), {"reason": "A reason."}).status_code == 302


def test_an_accepted_line_that_an_open_quote_counts_is_refused_until_it_is_back(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card, accepted=False)
    accept(card, by="Ilse Brackwater")
    seal_line(card, accepted=False, words="Clutch")
    quotes.send_version(TESTER, card, for_whom="Ilse Brackwater")
    refused(as_mechanic, line, "A quote that counts line 1 lies before the customer.")


def test_accepted_and_begun_is_refused(company, as_mechanic):
    line = seal_line(dairy_card())
    jobs.start_line(TESTER, line)
    refused(as_mechanic, line, "was ordered and is started")


@pytest.mark.parametrize(
    ("reason", "sentence"), [("", "No reason."), ("   ", "No reason."), ("x" * 10_000, "10,000 characters. At most 200")]
)
def test_no_reason_or_too_much_of_it_is_refused(company, as_mechanic, reason, sentence):
    refused(as_mechanic, seal_line(dairy_card(), accepted=False), sentence, reason=reason)


def test_twice_is_refused(company, as_mechanic):
    line = seal_line(dairy_card(), accepted=False)
    as_mechanic.post(address(line), {"reason": "A reason."})
    refused(as_mechanic, line, "withdrawn already")


def test_a_closed_card_is_refused(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card, accepted=False)
    jobs.mark_ready(TESTER, card)
    jobs.close_card(TESTER, card)
    refused(as_mechanic, line, "is closed")


def test_hostile_text_is_inert(company, as_mechanic):
    line = seal_line(dairy_card(), accepted=False)
    as_mechanic.post(address(line), {"reason": HOSTILE})
    for page in (reverse("jobs:card", args=[line.card_id]), reverse("book:corrections", args=[line.card_id])):
        text = as_mechanic.get(page).content.decode()
        assert HOSTILE not in text
        assert "&lt;script&gt;" in text
    assert Event.objects.get(kind="jobs.line_struck")


def test_the_office_and_the_bookkeeper_do_not_strike(company, as_office, as_bookkeeper):
    line = seal_line(dairy_card(), accepted=False)
    assert as_office.post(address(line), {"reason": "A reason."}).status_code == 403
    assert as_bookkeeper.get(address(line)).status_code == 403


def test_a_line_on_a_standing_invoice_is_not_struck(company, as_mechanic):
    """Call-out agreed in advance may be invoiced before it is begun; struck, it could never be credited and invoiced anew."""
    from tests.invoices import making
    from workshop.invoices import actions as invoices

    card = making.card_of()
    made = jobs.add_line(making.ADA, card, kind="first_price", words="Call-out", fixed_amount=Decimal("100.00"))
    making.accept(card)
    document = invoices.issue_invoice(making.ADA, card, request_uid=uuid.uuid4())
    answer = as_mechanic.post(reverse("book:strike", args=[made.uid]), {"reason": "A slip."})
    assert answer.status_code == 422
    assert f"stands on invoice {document.number}" in answer.content.decode()
    made.refresh_from_db()
    assert made.answer == "accepted"
