"""invoices:invoice_new: exactly the lines with their go-ahead, and one button that counts once."""

import datetime as dt
import uuid
from decimal import Decimal

import lxml.html
import pytest
from django.urls import reverse

from tests.invoices import making
from workshop import clock
from workshop.invoices.models import Document
from workshop.ledger.actions import close_books

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]


@pytest.fixture
def card():
    return making.ready_card()


def page(card):
    return reverse("invoices:invoice_new", args=[card.pk])


def typed(**more):
    return {"issued_on": "2026-11-25", "request_uid": str(uuid.uuid4()), "numbers": ["1", "2"], **more}


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


@pytest.mark.parametrize(
    "wrong", [{"issued_on": "soon"}, {"issued_on": ""}, {"request_uid": "7"}, {"request_uid": ""}, {"numbers": []}, {"numbers": ["9"]}]
)
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


def error_of(answer, box):
    return lxml.html.fromstring(answer.content.decode()).xpath(f"string(//*[@id='id_{box}_error'])")


def test_a_date_that_cannot_be_is_said_beside_the_date_and_the_button_stays(as_owner, card):
    with clock.frozen(dt.datetime(2026, 12, 5, 8, tzinfo=dt.UTC)):
        close_books(making.ADA, dt.date(2026, 11, 30), "early")
        for day, said in (
            ("2026-12-06", "2026-12-06 has not come yet"),
            ("2026-11-24", "before the work was agreed and done"),
            ("2026-11-26", "closed through 2026-11-30"),
        ):
            answer = as_owner.post(page(card), typed(issued_on=day))
            assert answer.status_code == 422
            assert said in error_of(answer, "issued_on")
            assert "Issue invoice" in answer.content.decode()
    assert not Document.objects.exists()


def test_chosen_lines_are_looked_at_and_issued_and_the_rest_waits(as_office, card):
    looked = as_office.get(page(card), {"numbers": "1", "issued_on": "2026-11-25", "request_uid": str(uuid.uuid4())}).content.decode()
    assert "659.53" in looked
    assert not Document.objects.exists()
    as_office.post(page(card), typed(numbers=["1"]))
    assert Document.objects.get().lines.get(position=1).words == "Timing belt kit"
    rest = as_office.get(page(card)).content.decode()
    assert "368.56" in rest
    again = as_office.post(page(card), typed(numbers=["1"]))
    assert (again.status_code, "Line 1 cannot be invoiced now" in again.content.decode()) == (422, True)
    alone = {name: value for name, value in typed().items() if name != "numbers"}
    assert as_office.post(page(card), alone).status_code == 302, "one line left: nothing to choose"
    assert sum(document.gross_amount for document in Document.objects.all()) == Decimal("1028.09")


def test_the_same_page_with_other_lines_is_a_conflict(as_office, card):
    sent = typed(numbers=["1"])
    as_office.post(page(card), sent)
    answer = as_office.post(page(card), {**sent, "issued_on": "2026-11-24"})
    assert answer.status_code == 409
    assert "made I26-0001 already, with other content" in answer.content.decode()
    assert Document.objects.count() == 1
