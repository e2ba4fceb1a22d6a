"""invoices:invoice_new: exactly the lines with their go-ahead, and one button that counts once."""

import uuid

import pytest
from django.urls import reverse

from tests.invoices import making
from workshop.invoices.models import Document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]


@pytest.fixture
def card():
    return making.ready_card()


def page(card):
    return reverse("invoices:invoice_new", args=[card.pk])


def typed(**more):
    return {"issued_on": "2026-11-25", "request_uid": str(uuid.uuid4()), **more}


def test_it_shows_lines_go_ahead_and_total_and_changes_nothing(as_office, card):
    text = as_office.get(page(card)).content.decode()
    for words in ("Timing belt kit", "Drain and refill", "agreed Wed 25 Nov by Osgood Plumtree, version 1", "842.70", "1,028.09"):
        assert words in text
    assert 'name="request_uid"' in text
    assert not Document.objects.exists()


def test_the_button_issues_and_leads_to_the_invoice(as_office, card):
    answer = as_office.post(page(card), typed())
    document = Document.objects.get()
    assert answer["Location"] == reverse("invoices:invoice", args=[document.uid])


def test_pressed_twice_it_is_one_invoice(as_owner, card):
    sent = typed()
    first, second = as_owner.post(page(card), sent), as_owner.post(page(card), sent)
    assert first["Location"] == second["Location"]
    assert Document.objects.count() == 1


def test_a_refused_date_is_422_and_stays_typed(as_owner, card):
    answer = as_owner.post(page(card), typed(issued_on="2026-11-26"))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "2026-11-26 has not come yet" in text
    assert 'value="2026-11-26"' in text
    assert not Document.objects.exists()


@pytest.mark.parametrize("wrong", [{"issued_on": "soon"}, {"issued_on": ""}, {"request_uid": "7"}, {"request_uid": ""}])
def test_what_cannot_be_read_is_422(as_owner, card, wrong):
    assert as_owner.post(page(card), typed(**wrong)).status_code == 422
    assert not Document.objects.exists()


def test_nothing_to_invoice_has_no_button(as_owner):
    text = as_owner.get(page(making.card_of())).content.decode()
    assert "nothing to invoice" in text
    assert "Issue invoice" not in text


@pytest.mark.parametrize("who", ["as_mechanic", "as_bookkeeper"])
def test_who_only_reads_has_no_button_and_may_not_issue(who, card, request):
    client = request.getfixturevalue(who)
    assert "Issue invoice" not in client.get(page(card)).content.decode()
    assert client.post(page(card), typed()).status_code == 403
    assert not Document.objects.exists()


def test_an_unknown_card_is_404(as_owner):
    assert as_owner.get(reverse("invoices:invoice_new", args=[999])).status_code == 404
