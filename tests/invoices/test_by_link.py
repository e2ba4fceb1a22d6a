"""The customer's page of an invoice (invoices:by_link), its paper (invoices:paper_by_link), and how the link goes out (invoices:send)."""

import datetime as dt
import gzip
import hashlib
import re
import uuid
from decimal import Decimal
from io import StringIO

import lxml.html
import pytest
from django.core.management import call_command
from django.urls import reverse

from tests.invoices import making
from workshop import clock
from workshop.files.queries import read
from workshop.history.models import Event
from workshop.invoices import actions, queries
from workshop.invoices.models import Document
from workshop.jobs.models import LinePart
from workshop.letters.models import Letter
from workshop.links import actions as links
from workshop.links.models import Link
from workshop.links.queries import token_of
from workshop.pages.headers import LINK_HEADERS

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
SECRET = "4242.42"


@pytest.fixture
def card():
    card = making.ready_card()
    LinePart.objects.filter(line__card=card).update(cost=Decimal(SECRET))
    return card


@pytest.fixture
def invoice(card):
    return issued(card)


def issued(card, **more):
    return actions.issue_invoice(making.ADA, card, request_uid=uuid.uuid4(), **more)


def path_of(document, page="by_link"):
    return reverse(f"invoices:{page}", args=[token_of(Link.objects.get(purpose="invoice", subject_uid=document.uid))])


def words_of(response):
    page = lxml.html.fromstring(response.content.decode())
    for style in page.xpath("//style"):
        style.drop_tree()
    return " ".join(" ".join(page.itertext()).split())


def everything_kept():
    out = StringIO()
    call_command("dumpdata", "--all", stdout=out)
    return hashlib.sha256(out.getvalue().encode()).hexdigest()


def test_it_shows_figures_and_how_to_pay(client, invoice):
    words = words_of(client.get(path_of(invoice)))
    for piece in (
        invoice.number,
        "Osgood Plumtree",
        "Still to pay 1,028.09",
        "Timing belt kit",
        "842.70",
        "Account",
        "Keep the paper (PDF)",
        "plate ending MO-2",
    ):
        assert piece in words


def test_it_says_what_was_paid(client, invoice):
    take = {"amount": Decimal("1000.00"), "method": "bank", "paid_on": clock.today(), "reference": "", "request_uid": uuid.uuid4()}
    actions.take_payment(making.ADA, invoice, **take)
    assert "Still to pay 28.09" in words_of(client.get(path_of(invoice)))
    actions.take_payment(making.ADA, invoice, **{**take, "amount": Decimal("28.09"), "request_uid": uuid.uuid4()})
    words = words_of(client.get(path_of(invoice)))
    assert "PAID" in words
    assert "How to pay" not in words


def test_the_paper_is_the_stored_one(client, invoice):
    invoice = actions.ensure_paper(invoice)
    answer = client.get(path_of(invoice, "paper_by_link"))
    assert (answer["Content-Type"], answer.content) == ("application/pdf", read(invoice.pdf_id))


@pytest.mark.parametrize("method", ["get", "head", "options"])
def test_reading_changes_nothing_even_without_a_paper_yet(client, invoice, method):
    before = everything_kept()
    for page in ("by_link", "paper_by_link"):
        getattr(client, method)(path_of(invoice, page))
    assert everything_kept() == before
    assert client.post(path_of(invoice)).status_code == 405


def test_it_is_kept_nowhere_light_and_asks_little(client, invoice, django_assert_max_num_queries):
    with django_assert_max_num_queries(6):
        answer = client.get(path_of(invoice))
    assert {name: answer[name] for name in LINK_HEADERS} == LINK_HEADERS
    assert len(gzip.compress(answer.content)) <= 14 * 1024
    assert b"<script" not in answer.content


def test_cost_margin_and_notes_never_stand_on_page_or_paper(client, invoice):
    paper = re.sub(r"<style>.*?</style>", "", actions.paper_html(invoice), flags=re.S)
    for text in (words_of(client.get(path_of(invoice))), paper, invoice.body):
        for word in (SECRET, "4,242.42", "margin", "cost"):
            assert word not in text.lower()


def test_an_unknown_link_and_one_of_another_purpose_are_the_same_404(client, invoice):
    quote = token_of(Link.objects.get(purpose="quote"))
    answers = [client.get(reverse("invoices:by_link", args=[token])) for token in ("x" * 43, "short", quote)]
    assert {answer.status_code for answer in answers} == {404}
    assert len({answer.content for answer in answers}) == 1
    assert client.get(reverse("quotes:go_ahead", args=[token_of(Link.objects.get(purpose="invoice"))])).status_code == 404


@pytest.mark.parametrize("how", ["revoked", "expired"])
def test_a_dead_link_is_a_calm_page_with_our_phone(client, invoice, how):
    where = path_of(invoice)
    if how == "revoked":
        links.revoke(Link.objects.get(purpose="invoice"))
    else:
        Link.objects.filter(purpose="invoice").update(expires_at=clock.now())
    answer = client.get(where)
    words = words_of(answer)
    assert answer.status_code == 410
    assert "+999 555 010 117" in words
    for secret in ("Ostrel", "MO-2", "Osgood", "1,028.09", invoice.number):
        assert secret not in words


def test_it_lives_for_a_year_after_the_day_it_is_due(invoice):
    assert Link.objects.get(purpose="invoice").expires_at.date() == invoice.due_on + dt.timedelta(days=365)


def test_issuing_writes_the_letter_once(card):
    sent = {"request_uid": uuid.uuid4(), "email": "osgood@plumtree.example"}
    first, second = (actions.issue_invoice(making.ADA, card, **sent) for _ in range(2))
    letter = Letter.objects.get(subject_uid=first.uid)
    assert first == second
    assert (letter.to, letter.template) == ("osgood@plumtree.example", "invoices/mail/invoice.txt")
    assert f"Invoice {first.number}: 1,028.09 EUR, to be paid by" in letter.body
    assert token_of(Link.objects.get(purpose="invoice")) not in letter.body
    with pytest.raises(actions.Conflict):
        actions.issue_invoice(making.ADA, card, **{**sent, "email": "other@plumtree.example"})
    assert "plumtree.example" not in first.body


def test_without_a_mail_address_no_letter_is_written(invoice):
    assert not Letter.objects.filter(subject_uid=invoice.uid).exists()


def test_the_desk_passes_it_on(as_office, invoice):
    page = lxml.html.fromstring(as_office.get(reverse("invoices:invoice", args=[invoice.uid])).content.decode())
    hrefs = " ".join(page.xpath("//a/@href"))
    assert "sms:" in hrefs
    assert "mailto:" in hrefs
    assert page.xpath("//button[@data-share and @hidden]")


def sending(**more):
    return {"request_uid": str(uuid.uuid4()), "email": "osgood@plumtree.example", **more}


@pytest.mark.parametrize("who", ["as_owner", "as_office"])
def test_the_letter_goes_once_however_often_it_is_pressed(request, who, invoice):
    client, where, sent = request.getfixturevalue(who), reverse("invoices:send", args=[invoice.uid]), sending()
    answers = [client.post(where, sent) for _ in range(5)]
    assert {answer.status_code for answer in answers} == {302}
    assert Letter.objects.filter(subject_uid=invoice.uid).count() == Event.objects.filter(kind="invoice.sent").count() == 1
    assert Link.objects.filter(purpose="invoice").count() == 1


def test_the_same_page_with_another_address_is_409(as_office, invoice):
    where, sent = reverse("invoices:send", args=[invoice.uid]), sending()
    as_office.post(where, sent)
    assert as_office.post(where, {**sent, "email": "other@plumtree.example"}).status_code == 409
    assert Letter.objects.filter(subject_uid=invoice.uid).count() == 1


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [({"email": "osgood"}, "No mail address like that."), ({"request_uid": "x"}, "page")],
)
def test_what_is_refused_stays_typed_and_changes_nothing(as_office, invoice, wrong, sentence):
    before = everything_kept()
    answer = as_office.post(reverse("invoices:send", args=[invoice.uid]), sending(**wrong))
    assert (answer.status_code, sentence in answer.content.decode()) == (422, True)
    assert everything_kept() == before


@pytest.mark.parametrize("who", ["as_mechanic", "as_bookkeeper"])
def test_others_do_not_send(request, who, invoice):
    answer = request.getfixturevalue(who).post(reverse("invoices:send", args=[invoice.uid]), sending())
    assert answer.status_code == 403
    assert not Letter.objects.filter(subject_uid=invoice.uid).exists()


def test_a_dead_link_is_followed_by_a_new_one(as_office, invoice):
    links.revoke(Link.objects.get(purpose="invoice"))
    as_office.post(reverse("invoices:send", args=[invoice.uid]), sending(email=""))
    assert queries.link_of(invoice) is not None
    assert Link.objects.filter(purpose="invoice").count() == 2
    assert not Letter.objects.filter(subject_uid=invoice.uid).exists()


def test_a_credit_note_has_no_page_of_its_own(as_office, invoice):
    note = actions.credit_invoice(making.ADA, invoice, reason="Wrong payer", request_uid=uuid.uuid4())
    answer = as_office.post(reverse("invoices:send", args=[note.uid]), sending())
    assert answer.status_code == 422
    assert not Letter.objects.exists()


def test_hostile_words_are_inert(client):
    bad = "<script>alert(1)</script>=HYPERLINK(1)"
    document = issued(making.ready_card({"name": bad}))
    assert "<script>alert" not in client.get(path_of(document)).content.decode()


def test_what_is_done_and_not_invoiced_is_told_and_nothing_once_it_is(card, django_assert_max_num_queries):
    assert actions.uninvoiced(card) == Decimal("1028.09")
    issued(card)
    with django_assert_max_num_queries(2):
        assert actions.uninvoiced(card) is None
    assert actions.uninvoiced(making.card_of()) is None
    assert Document.objects.count() == 1


def test_the_tag_hands_it_to_a_template(card):
    from django.template import Context, Template

    text = "{% load invoices_pieces pages_format %}{% uninvoiced card as owed %}{{ owed|money }}"
    assert Template(text).render(Context({"card": card})) == "1,028.09"
