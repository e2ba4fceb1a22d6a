"""bookkeeping:tax and bookkeeping:tax_table: tax by code, which is what an outside reader finds in the journal."""

import csv
import datetime as dt
import io
import subprocess
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.bookkeeping.test_write_batch import NOVEMBER, journal, paid_invoice
from tests.invoices import making
from workshop.bookkeeping import actions, queries
from workshop.company.models import TaxRate
from workshop.invoices import actions as invoices
from workshop.ledger.actions import PostingIn, write_entry

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
TAX, TABLE = "/books/tax/", "/books/tax/table/"
SPAN = {"from_on": "2026-11-01", "to_on": "2026-11-30"}


@pytest.fixture
def books():
    """An invoice that is paid, one that is credited, and one under a second code."""
    actions.write_mapping(
        [
            *queries.suggested_accounts("vellmark"),
            {"role": "sales", "tax_code": "reduced", "name": "Income:Reduced"},
            {"role": "output_tax", "tax_code": "reduced", "name": "Liabilities:Output-Tax:Reduced"},
        ]
    )
    paid_invoice()
    credited = invoices.issue_invoice(making.ADA, making.ready_card({"name": "Ilse Brackwater"}), request_uid=uuid.uuid4())
    invoices.credit_invoice(making.ADA, credited, reason="Sent to the wrong place", request_uid=uuid.uuid4())
    sold("R-1", "100.00", "10.00", tax_point=dt.date(2026, 10, 28))


def sold(reference, net, tax, tax_point):
    write_entry(
        source_kind="invoice", source_uid=uuid.uuid4(), reference=reference, dated_on=dt.date(2026, 11, 2),
        tax_point_on=tax_point, words="Late",
        postings=[
            PostingIn("receivable", Decimal(net) + Decimal(tax)),
            PostingIn("sales", -Decimal(net), "parts", "reduced"),
            PostingIn("output_tax", -Decimal(tax), tax_code="reduced"),
        ],
    )  # fmt: skip


def test_it_ties_to_what_hledger_reads_from_the_exported_file(books, tmp_path):
    path = tmp_path / "journal.hledger"
    path.write_text(journal(actions.write_batch(making.ADA, *NOVEMBER), "hledger"))
    said = subprocess.run(["hledger", "-f", path, "balance", "-O", "csv", "--flat"], capture_output=True, text=True, check=True).stdout
    read = {row[0]: -Decimal(row[1].split()[0]) for row in csv.reader(io.StringIO(said)) if row[0] not in {"account", "total"}}
    report = queries.tax_report(*NOVEMBER)
    assert [(row.code, row.net, row.tax, row.gross) for row in report.rows] == [
        ("reduced", Decimal("100.00"), Decimal("10.00"), Decimal("110.00")),
        ("standard", Decimal("842.70"), Decimal("185.39"), Decimal("1028.09")),
    ]
    for row in report.rows:
        assert read[f"Liabilities:Output-Tax:{row.code.capitalize()}"] == row.tax
    assert sum(amount for name, amount in read.items() if name.startswith("Income:")) == report.total.net
    sums = dict(report.accounts)
    assert {name: amount for name, amount in sums.items() if amount} == {name: read[name] for name in sums if read.get(name)}
    assert report.waiting == 0


def test_the_page_shows_it_and_what_is_not_exported_yet(as_bookkeeper, books):
    assert (reverse("bookkeeping:tax"), reverse("bookkeeping:tax_table")) == (TAX, TABLE)
    text = as_bookkeeper.get(TAX, SPAN).content.decode()
    for words in ("842.70", "1,028.09", "195.39", "in no batch yet", "tax date outside these days", "R-1"):
        assert words in text


def test_the_table_is_the_same_figures(as_bookkeeper, books):
    answer = as_bookkeeper.get(TABLE, SPAN)
    rows = list(csv.DictReader(io.StringIO(answer.content.decode(), newline="")))
    assert [tuple(row.values()) for row in rows] == [
        ("2026-11-01", "2026-11-30", "reduced", "100.00", "10.00", "110.00", "EUR"),
        ("2026-11-01", "2026-11-30", "standard", "842.70", "185.39", "1028.09", "EUR"),
    ]
    assert answer["Content-Disposition"] == 'attachment; filename="tax-2026-11-01-2026-11-30.csv"'


def test_without_days_it_is_last_month(as_owner):
    text = as_owner.get(TAX).content.decode()
    assert 'value="2026-10-01"' in text
    assert 'value="2026-10-31"' in text
    assert "Nothing was sold" in text


@pytest.mark.parametrize("wrong", [{"from_on": "soon"}, {"to_on": ""}, {"from_on": "2026-12-01"}])
def test_days_that_cannot_be_read(as_owner, wrong):
    assert as_owner.get(TAX, {**SPAN, **wrong}).status_code == 422
    assert as_owner.get(TABLE, {**SPAN, **wrong}).status_code == 404


def test_nobody_registered_no_such_page_and_no_word_of_it(as_owner):
    TaxRate.objects.all().delete()
    assert (as_owner.get(TAX, SPAN).status_code, as_owner.get(TABLE, SPAN).status_code) == (404, 404)
    for name in ("batches", "mapping", "close", "papers", "opening"):
        page = as_owner.get(reverse(f"bookkeeping:{name}")).content.decode()
        assert "tax" not in page.lower().replace("output_tax", ""), name


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_it_is_for_owner_and_bookkeeper(who, request):
    client = request.getfixturevalue(who)
    assert (client.get(TAX).status_code, client.get(TABLE).status_code) == (403, 403)
