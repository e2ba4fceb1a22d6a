"""Story 17 without the deposit: an invoice, its payment and a credit of 46.36, as an outside reader finds them in the journal."""

import csv
import io
import subprocess
import uuid
from decimal import Decimal

import pytest

from tests.bookkeeping.test_write_batch import NOVEMBER, journal, paid_invoice
from tests.invoices import making
from workshop.bookkeeping import actions, queries
from workshop.invoices import actions as invoices

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]


def test_story_17_debit_is_credit_the_customer_has_credit_and_the_tax_is_less(tmp_path):
    """1,028.09 invoiced and paid, then 38.00 + 8.36 credited: credit 46.36, output tax 185.39 - 8.36 = 177.03, nothing receivable."""
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    document = paid_invoice()
    invoices.credit_invoice(making.ADA, document, reason="Agreed afterwards", request_uid=uuid.uuid4(), amounts={1: Decimal("38.00")})
    path = tmp_path / "journal.hledger"
    path.write_text(journal(actions.write_batch(making.ADA, *NOVEMBER), "hledger"))
    said = subprocess.run(
        ["hledger", "-f", path, "balance", "-O", "csv", "--flat", "--empty"], capture_output=True, text=True, check=True
    ).stdout
    read = {row[0]: Decimal(row[1].split()[0]) for row in csv.reader(io.StringIO(said)) if row[0] not in {"account", "total"}}
    assert sum(read.values()) == 0
    assert (read["Assets:Bank"], read["Assets:Receivable"]) == (Decimal("1028.09"), 0)
    assert read["Liabilities:Customer-Credit"] == Decimal("-46.36")
    assert read["Liabilities:Output-Tax:Standard"] == Decimal("-177.03") == -queries.tax_report(*NOVEMBER).total.tax
