"""invoices:credit_lines: how much of which line goes back, with the reason."""

import uuid

import pytest
from django.urls import reverse

from tests.invoices import making
from workshop.invoices import actions, queries
from workshop.invoices.models import Document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]


@pytest.fixture
def document():
    return actions.issue_invoice(making.ADA, making.ready_card(), request_uid=uuid.uuid4())


def page(document):
    return reverse("invoices:credit_lines", args=[document.uid])


def typed(**more):
    return {"reason": "Goodwill", "request_uid": str(uuid.uuid4()), **more}


def test_it_shows_each_line_with_what_is_left_and_changes_nothing(as_office, document):
    actions.credit_invoice(making.ADA, document, reason="x", amounts={1: making.Decimal("37.40")}, request_uid=uuid.uuid4())
    text = as_office.get(page(document)).content.decode()
    for words in ("Timing belt kit", "Without tax; 200.00 at most.", "Without tax; 197.40 at most."):
        assert words in text
    assert Document.objects.count() == 2


def test_the_button_writes_the_note_once(as_office, document):
    sent = typed(line1="10,00", line3="31.20")
    for _ in range(2):
        answer = as_office.post(page(document), sent, follow=True)
    text = answer.content.decode()
    assert "C26-0001 takes 50.26 of I26-0001 back." in text
    assert "Why: Goodwill" in text
    assert Document.objects.count() == 2
    assert queries.open_amount(document) == making.Decimal("977.83")


@pytest.mark.parametrize(
    ("sent", "sentence", "status"),
    [
        ({"line1": "237.41"}, "237.40 without tax are left to credit on this line, not 237.41.", 422),
        ({"line1": "much"}, "much is not an amount", 422),
        ({"line1": "-1"}, "is below zero", 422),
        ({}, "No amount is written.", 422),
        ({"line1": "1.00", "reason": ""}, "Write why", 422),
        ({"line1": "1.00", "reason": "a\x00b"}, "no paper can print", 422),
        ({"line1": "1.00", "request_uid": ""}, "The page has lost its number", 422),
    ],
)
def test_refused_with_a_sentence_and_what_was_typed_stays(as_office, document, sent, sentence, status):
    answer = as_office.post(page(document), typed(**sent))
    text = answer.content.decode()
    assert answer.status_code == status
    assert sentence in text
    assert not sent.get("line1") or f'value="{sent["line1"]}"' in text
    assert Document.objects.count() == 1


def test_the_same_page_with_other_amounts_is_a_conflict(as_office, document):
    sent = typed(line1="10.00")
    as_office.post(page(document), sent)
    answer = as_office.post(page(document), {**sent, "line1": "11.00"})
    assert answer.status_code == 409
    assert "made C26-0001 already" in answer.content.decode()
    assert Document.objects.count() == 2


def test_all_credited_there_is_no_button(as_office, document):
    actions.credit_invoice(making.ADA, document, reason="x", request_uid=uuid.uuid4())
    text = as_office.get(page(document)).content.decode()
    assert "Nothing is left to credit." in text
    assert "Write the credit note" not in text


@pytest.mark.parametrize("who", ["as_mechanic", "as_bookkeeper"])
def test_who_may_not(who, document, request):
    client = request.getfixturevalue(who)
    assert [client.get(page(document)).status_code, client.post(page(document), typed(line1="1.00")).status_code] == [403, 403]
    assert Document.objects.count() == 1


def test_a_stranger_is_404(as_owner):
    assert as_owner.get(reverse("invoices:credit_lines", args=[uuid.uuid4()])).status_code == 404
