"""invoices:invoice, invoices:paper, invoices:pay, invoices:credit: the document at the desk."""

import uuid
from unittest.mock import patch

import pytest
from django.urls import reverse

from tests.invoices import making
from workshop.files import queries as files
from workshop.invoices import actions, pdf
from workshop.invoices.models import Document, Payment

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]


@pytest.fixture
def document():
    return actions.issue_invoice(making.ADA, making.ready_card(), request_uid=uuid.uuid4())


def page(name, document):
    return reverse(f"invoices:{name}", args=[document.uid])


def typed(**more):
    return {"amount": "1,028.09", "method": "bank", "paid_on": "2026-11-25", "request_uid": str(uuid.uuid4()), **more}


@pytest.mark.parametrize("who", ["as_owner", "as_office", "as_mechanic", "as_bookkeeper"])
def test_everyone_of_the_business_reads_it(who, document, request):
    text = request.getfixturevalue(who).get(page("invoice", document)).content.decode()
    assert "1,028.09" in text
    assert ("Take payment" in text) == (who in {"as_owner", "as_office"})


def test_the_paper_is_the_stored_bytes(as_bookkeeper, document):
    answer = as_bookkeeper.get(page("paper", document))
    document.refresh_from_db()
    assert answer.content == files.read(document.pdf_id)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'inline; filename="{document.number}.pdf"'
    assert answer["Content-Security-Policy"].startswith("default-src 'none'")
    assert answer["X-Content-Type-Options"] == "nosniff"
    with patch.object(pdf, "render", side_effect=AssertionError("rendered again")):
        assert as_bookkeeper.get(page("paper", document)).content == answer.content


def test_a_payment_is_taken_and_shown(as_office, document):
    answer = as_office.post(page("pay", document), typed(amount="500,00", reference="slip 12"), follow=True)
    text = answer.content.decode()
    assert "500.00 is taken on I26-0001." in text
    assert "528.09" in text
    assert "slip 12" in text


def test_sent_twice_it_is_one_payment(as_office, document):
    sent = typed(amount="500.00")
    as_office.post(page("pay", document), sent)
    as_office.post(page("pay", document), sent)
    assert Payment.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"amount": "1,028.10"}, "1,028.09 are open on I26-0001, not 1,028.10."),
        ({"amount": ""}, "Type an amount"),
        ({"amount": "much"}, "much is not an amount"),
        ({"amount": "1,500"}, "can be read two ways"),
        ({"method": ""}, "Choose how it was paid."),
        ({"method": "shells"}, "Choose how it was paid."),
        ({"paid_on": "2026-11-26"}, "Came in on: 2026-11-26 has not come yet"),
        ({"paid_on": "1999-01-01"}, "Came in on: 1999-01-01 is before the invoice"),
        ({"paid_on": "soon"}, "Write the day as"),
        ({"reference": "x" * 81}, "At most 80 characters"),
    ],
)
def test_a_refused_payment_is_422_with_its_sentence(as_office, document, wrong, sentence):
    answer = as_office.post(page("pay", document), typed(**wrong))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Payment.objects.exists()


@pytest.mark.parametrize("who", ["as_mechanic", "as_bookkeeper"])
@pytest.mark.parametrize("button", ["pay", "credit"])
def test_who_only_reads_takes_nothing(who, button, document, request):
    sent = {**typed(), "reason": "x"}
    assert request.getfixturevalue(who).post(page(button, document), sent).status_code == 403
    assert (Payment.objects.count(), Document.objects.count()) == (0, 1)


def test_credited_in_full(as_owner, document):
    answer = as_owner.post(page("credit", document), {"reason": "Wrong address", "request_uid": str(uuid.uuid4())}, follow=True)
    text = answer.content.decode()
    assert "takes I26-0001 back in full" in text
    assert "Why: Wrong address" in text
    assert "Take payment" not in as_owner.get(page("invoice", document)).content.decode()


def test_a_credit_without_a_reason_is_422(as_owner, document):
    answer = as_owner.post(page("credit", document), {"reason": "", "request_uid": str(uuid.uuid4())})
    assert answer.status_code == 422
    assert "Write why" in answer.content.decode()


@pytest.mark.parametrize("name", ["invoice", "paper"])
def test_an_unknown_one_is_404(as_owner, name):
    assert as_owner.get(reverse(f"invoices:{name}", args=[uuid.uuid4()])).status_code == 404


@pytest.mark.parametrize("name", ["pay", "credit"])
def test_a_button_is_not_a_page(as_owner, document, name):
    assert as_owner.get(page(name, document)).status_code == 405


def test_the_same_page_with_another_amount_is_a_conflict(as_office, document):
    sent = typed(amount="500.00")
    as_office.post(page("pay", document), sent)
    answer = as_office.post(page("pay", document), {**sent, "amount": "500.01"})
    assert answer.status_code == 409
    assert "took 500.00 by bank transfer already, with other content" in answer.content.decode()
    assert Payment.objects.count() == 1


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [({"fee": "1.00"}, "Card fee kept back: A fee is kept back of a card payment only"), ({"reference": "a\x00b"}, "no paper can print")],
)
def test_the_sentence_stands_beside_its_box(as_office, document, sent, sentence):
    answer = as_office.post(page("pay", document), typed(**sent))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Payment.objects.exists()


def test_more_is_kept_as_credit_when_that_is_ticked(as_office, document):
    assert as_office.post(page("pay", document), typed(amount="1,100.00", keep_rest="on")).status_code == 302
    assert Payment.objects.get().amount == 1100
