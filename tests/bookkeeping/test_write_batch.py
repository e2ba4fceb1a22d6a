"""A batch takes what no batch has; its files are read by programs that are not ours."""

import csv
import datetime as dt
import hashlib
import io
import json
import shutil
import subprocess
import sys
import uuid
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import DatabaseError, connection, transaction

from tests.invoices import making
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.actions.rows import one_line
from workshop.bookkeeping.models import Account, Batch, BatchEntry
from workshop.files import queries as files
from workshop.history.models import Event
from workshop.invoices import actions as invoices

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
ADA = making.ADA
NOVEMBER = (dt.date(2026, 11, 1), dt.date(2026, 11, 30))
BEAN_CHECK = Path(sys.executable).with_name("bean-check")
HOSTILE = '=HYPERLINK("http://x.example","pay")\n2026-11-01 * forged\n  Assets:Bank  1 EUR ; | "quoted" \\ \u202e\u2028end'


@pytest.fixture
def mapping():
    return actions.write_mapping(queries.suggested_accounts("vellmark"))


def paid_invoice(customer=None):
    document = invoices.issue_invoice(ADA, making.ready_card(customer), request_uid=uuid.uuid4())
    invoices.take_payment(
        ADA, document, method="bank", amount=document.gross_amount, paid_on=dt.date(2026, 11, 25), request_uid=uuid.uuid4()
    )
    return document


def texts(batch):
    return {file.name.split(".", 1)[1]: files.read(file.blob_id).decode() for file in batch.files.exclude(name__startswith="control")}


def table(batch):
    return list(csv.DictReader(io.StringIO(texts(batch)["csv"], newline="")))


def read_by(reader, text, folder):
    """Exit code and words of an outside reader. hledger.org, ledger-cli.org, beancount.github.io."""
    path = folder / f"journal.{reader}"
    path.write_text(text)
    commands = {
        "hledger": ["hledger", "-f", path, "check", "-s"],
        "ledger": ["ledger", "--pedantic", "--args-only", "-f", path, "balance"],
        "beancount": [BEAN_CHECK, path],
    }
    if shutil.which(str(commands[reader][0])) is None:
        pytest.skip(f"{reader} is not installed")
    done = subprocess.run(commands[reader], capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


def journal(batch, reader):
    return texts(batch)["beancount" if reader == "beancount" else "hledger"]


READERS = ["hledger", "ledger", "beancount"]


@pytest.mark.parametrize("reader", READERS)
def test_an_outside_reader_accepts_the_journal(mapping, reader, tmp_path):
    paid_invoice()
    code, said = read_by(reader, journal(actions.write_batch(ADA, *NOVEMBER), reader), tmp_path)
    assert code == 0, said


@pytest.mark.parametrize("reader", READERS)
def test_an_outside_reader_refuses_one_coin_changed(mapping, reader, tmp_path):
    paid_invoice()
    text = journal(actions.write_batch(ADA, *NOVEMBER), reader).replace("-185.39", "-185.40")
    assert read_by(reader, text, tmp_path)[0] != 0


@pytest.mark.parametrize("reader", READERS)
def test_a_hostile_name_is_only_a_name(mapping, reader, tmp_path):
    paid_invoice({"name": HOSTILE})
    text = journal(actions.write_batch(ADA, *NOVEMBER), reader)
    code, said = read_by(reader, text, tmp_path)
    assert code == 0, said
    assert sum(line.startswith("2026-11-25 *") for line in text.splitlines()) == 2
    assert not any(line.startswith("2026-11-01 *") for line in text.splitlines())


def test_hledger_reads_the_balances(mapping, tmp_path):
    paid_invoice()
    if shutil.which("hledger") is None:
        pytest.skip("hledger is not installed")
    path = tmp_path / "journal.hledger"
    path.write_text(journal(actions.write_batch(ADA, *NOVEMBER), "hledger"))
    said = subprocess.run(["hledger", "-f", path, "balance", "-O", "csv", "--flat"], capture_output=True, text=True, check=True).stdout
    balances = dict(row for row in csv.reader(io.StringIO(said)) if row[0] not in {"account", "total"})
    assert balances == {
        "Assets:Bank": "1028.09 EUR",
        "Income:Labour": "-70.20 EUR",
        "Income:Labour:Access": "-323.70 EUR",
        "Income:Parts": "-364.60 EUR",
        "Income:Parts:Access": "-84.20 EUR",
        "Liabilities:Output-Tax:Standard": "-185.39 EUR",
    }


def test_the_table_has_text_as_text_and_amounts_as_numbers(mapping):
    paid_invoice({"name": HOSTILE})
    batch = actions.write_batch(ADA, *NOVEMBER)
    rows = table(batch)
    assert sum(Decimal(row["amount"]) for row in rows) == 0
    assert sum(Decimal(row["debit"] or 0) for row in rows) == Decimal("2056.18")
    for row in rows:
        assert not any(row[name].startswith(tuple("=+-@\t")) for name in ("reference", "words", "account"))
    raw = texts(batch)["csv"]
    assert ",,185.39,-185.39," in raw
    assert raw.count("\r\n") == len(rows) + 1


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@sum", "\t=1+1", "\r=1", "＝1"])
def test_a_text_that_begins_a_formula_gets_an_apostrophe(name):
    from workshop.bookkeeping.actions.table import text_cell

    assert text_cell(name) == f"'{one_line(name)}"
    assert text_cell("Osgood - Plumtree") == "Osgood - Plumtree"


def test_the_schema_names_each_column(mapping):
    paid_invoice()
    batch = actions.write_batch(ADA, *NOVEMBER)
    told = json.loads(texts(batch)["schema.json"])
    assert [column["name"] for column in told["columns"]] == list(table(batch)[0])


def test_the_side_file_has_hashes_and_control_totals(mapping):
    paid_invoice()
    batch = actions.write_batch(ADA, *NOVEMBER)
    told = queries.control(batch)
    assert (told["debit"], told["credit"], told["entries"], told["postings"]) == ("2056.18", "2056.18", 2, 8)
    assert told["output tax"] == {"standard": "185.39"}
    for file in batch.files.exclude(name__startswith="control"):
        assert hashlib.sha256(files.read(file.blob_id)).hexdigest() == told["files"][file.name]["sha256"]
    assert list(queries.problems()) == []


def test_an_entry_is_in_one_batch_and_an_old_file_never_changes(mapping):
    paid_invoice()
    first = actions.write_batch(ADA, *NOVEMBER)
    before = texts(first)
    paid_invoice({"name": "Ilse Brackwater"})
    second = actions.write_batch(ADA, *NOVEMBER)
    assert (first.no, second.no) == (1, 2)
    assert BatchEntry.objects.count() == 4
    Account.objects.filter(role="bank").update(name="Assets:Other-Bank")
    assert texts(Batch.objects.get(no=1)) == before


def test_nothing_waits(mapping):
    paid_invoice()
    actions.write_batch(ADA, *NOVEMBER)
    with pytest.raises(actions.Refused, match="Nothing waits from 2026-11-01 to 2026-11-30"):
        actions.write_batch(ADA, *NOVEMBER)


def test_days_the_wrong_way_round(mapping):
    with pytest.raises(actions.Refused, match="Turn the two days round"):
        actions.write_batch(ADA, *reversed(NOVEMBER))


def test_missing_accounts_are_all_named_before_any_file():
    paid_invoice()
    with pytest.raises(actions.Refused) as refusal, transaction.atomic():
        actions.write_batch(ADA, *NOVEMBER)
    said = str(refusal.value)
    for case in (
        "receivable, customer private",
        "bank, customer private",
        "sales, labour, tax code standard",
        "output tax, tax code standard",
    ):
        assert case in said
    assert not Batch.objects.exists()


def test_the_fullest_row_wins(mapping):
    case = ("sales", "labour", "standard", "firm")
    assert queries.Mapping().account(case) == "Income:Labour"
    actions.write_mapping(
        [{"role": "sales", "line_kind": "labour", "tax_code": "standard", "customer_kind": "firm", "name": "Income:Firms"}]
    )
    assert queries.Mapping().account(case) == "Income:Firms"
    assert queries.Mapping().account(("sales", "labour", "standard", "private")) == "Income:Labour"


@pytest.mark.parametrize("name", ["Income", "income:Labour", "Income:labour", "Income:Labour sold", "Income:Labour\n2026", "Sales:Labour"])
def test_a_name_that_a_reader_would_refuse_is_refused(name):
    with pytest.raises(actions.Refused, match="is no account"):
        actions.write_mapping([{"role": "sales", "name": name}])


def test_preview_has_no_effect(mapping):
    paid_invoice()
    before = Event.objects.count()
    seen = queries.preview(*NOVEMBER)
    assert (seen.entries, seen.postings, seen.debit, seen.credit, seen.missing) == (2, 8, Decimal("2056.18"), Decimal("2056.18"), ())
    assert (Batch.objects.count(), Event.objects.count()) == (0, before)


def test_one_line_of_history(mapping):
    paid_invoice()
    before = Event.objects.count()
    actions.write_batch(ADA, *NOVEMBER)
    assert (Event.objects.count() - before, Event.objects.latest("seq").kind) == (1, "bookkeeping.batch_written")


@pytest.mark.parametrize(
    "sql", ["UPDATE bookkeeping_batch SET no = 9", "DELETE FROM bookkeeping_batchentry", "DELETE FROM bookkeeping_batchfile"]
)
def test_nobody_changes_a_batch(mapping, sql):
    paid_invoice()
    actions.write_batch(ADA, *NOVEMBER)
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


def test_verify_finds_a_file_that_was_swapped(mapping):
    paid_invoice()
    batch = actions.write_batch(ADA, *NOVEMBER)
    side = batch.files.get(name="control-0001.json")
    files.path(side.blob_id).write_text("{}")
    assert list(queries.problems())
