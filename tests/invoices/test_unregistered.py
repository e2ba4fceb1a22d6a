"""A business that is not registered adds no tax, and no customer’s page or paper has a word of it. The line above the foot."""

import re
import shutil
import subprocess
import uuid

import lxml.html
import pytest
from django.urls import reverse

from tests.invoices import making
from workshop import clock
from workshop.company.models import Company, TaxRate
from workshop.company.queries import company as the_company
from workshop.customers.models import Party
from workshop.invoices import actions, pdf, queries
from workshop.links.models import Link
from workshop.links.queries import token_of
from workshop.quotes import actions as quotes
from workshop.quotes import pdf as quote_pdf
from workshop.quotes import queries as quote_queries
from workshop.quotes.models import GoAhead

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
WORD = re.compile(r"\btax|\bincl|\bvat\b|\bgst\b|\bnet\b|without tax", re.IGNORECASE)
LINE = "Parts stay ours until they are paid."


@pytest.fixture
def unregistered(company):
    TaxRate.objects.all().delete()
    Company.objects.update(tax_profile="unregistered", paper_foot=LINE)


@pytest.fixture
def invoice(unregistered):
    card = making.ready_card()
    Party.objects.update(tax_number="VM 1")
    return actions.issue_invoice(making.ADA, card, request_uid=uuid.uuid4())


def told(response):
    assert response.status_code in {200, 422}, response
    page = lxml.html.fromstring(response.content.decode())
    for left_out in page.xpath("//style | //script"):
        left_out.drop_tree()
    return " ".join(" ".join([*page.itertext(), *page.xpath("//@alt | //@title | //@placeholder")]).split())


def printed(data, folder):
    assert shutil.which("pdftotext"), "pdftotext reads the paper"
    (folder / "paper.pdf").write_bytes(data)
    said = subprocess.run(["pdftotext", "-layout", folder / "paper.pdf", "-"], capture_output=True, text=True, check=True).stdout
    return " ".join(said.split())


def test_the_customers_pages_have_no_word_of_tax(client, unregistered):
    card = making.card_of()
    making.belt_and_pump(card)
    version = quotes.send_version(making.ADA, card, for_whom="Osgood Plumtree")
    where = reverse("quotes:go_ahead", args=[token_of(Link.objects.get(purpose="quote"))])
    page = lxml.html.fromstring(client.get(where).content.decode())
    said = {"nonce": page.xpath("//input[@name='nonce']/@value")[0], "line1": "accept", "line2": "not-now"}
    whole = {**said, "name": "Osgood Plumtree", "standing": "owner"}
    for response in (client.get(where), client.post(where, said), client.post(where + "review/", whole)):
        assert WORD.findall(told(response)) == []
    making.accept(card, by="Osgood Plumtree")
    later = reverse("quotes:receipt", args=[token_of(Link.objects.filter(purpose="quote").order_by("pk").last())])
    assert WORD.findall(told(client.get(later))) == []
    assert quote_queries.body(version)["pricing"]["taxed"] is False


def test_the_paper_of_a_go_ahead_has_none_and_has_the_line(unregistered, tmp_path):
    card = making.ready_card()
    version = GoAhead.objects.get().version
    given = quote_queries.Given({1: "accept", 2: "accept"}, "Osgood Plumtree", "owner", "link", uuid.uuid4(), clock.now())
    text = printed(quote_pdf.version_paper(quote_queries.body(version), version.sha256, given), tmp_path)
    assert WORD.findall(text) == []
    assert LINE in text
    assert card.number in text


def test_page_and_paper_of_the_invoice_have_none(client, invoice, tmp_path):
    where = reverse("invoices:by_link", args=[token_of(Link.objects.get(purpose="invoice"))])
    assert WORD.findall(told(client.get(where))) == []
    text = printed(pdf.render(queries.body(invoice), invoice.sha256), tmp_path)
    assert WORD.findall(text) == []
    assert LINE in text
    assert invoice.tax_amount == 0


def test_the_credit_note_has_none(invoice):
    note = actions.credit_invoice(making.ADA, invoice, reason="Wrong payer", request_uid=uuid.uuid4())
    assert WORD.findall(re.sub(r"<style>.*?</style>|<[^>]+>", " ", actions.paper_html(note), flags=re.S)) == []


def test_the_statement_has_none_and_has_the_line(invoice, tmp_path):
    payer = Party.objects.get(name="Osgood Plumtree")
    text = printed(pdf.statement(queries.statement(payer, clock.today(), clock.today()), the_company()), tmp_path)
    assert WORD.findall(text) == []
    assert LINE in text


def test_the_desk_has_none(as_owner, invoice):
    card = making.ready_card({"name": "Ilse Brackwater"})
    for where in (
        reverse("invoices:invoice", args=[invoice.uid]),
        reverse("invoices:invoice_new", args=[card.pk]),
        reverse("invoices:credit_lines", args=[invoice.uid]),
        reverse("quotes:quote", args=[card.pk]),
    ):
        assert WORD.findall(told(as_owner.get(where))) == [], where


def test_a_registered_business_says_it(client):
    document = actions.issue_invoice(making.ADA, making.ready_card(), request_uid=uuid.uuid4())
    where = reverse("invoices:by_link", args=[token_of(Link.objects.get(purpose="invoice"))])
    assert "Net" in told(client.get(where))
    assert "tax number" in actions.paper_html(document)


def test_a_paper_keeps_the_line_it_was_issued_with(invoice):
    Company.objects.update(paper_foot="Another")
    assert LINE in actions.paper_html(invoice)


def test_documents_from_before_it_was_kept_tell_it_by_their_rate():
    assert not queries.taxed({"taxes": [{"rate": "0"}]})
    assert queries.taxed({"taxes": [{"rate": "0.2200"}]})
