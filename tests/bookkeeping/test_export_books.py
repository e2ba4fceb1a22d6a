"""The command lays out every batch that touches the span, the same bytes each time."""

import datetime as dt

import pytest
from django.core.management import CommandError, call_command

from tests.bookkeeping.test_write_batch import paid_invoice
from tests.invoices import making
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.models import Batch

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]


def export(out):
    call_command("export_books", "--from", "2026-11-01", "--to", "2026-11-30", "--out", str(out))
    return {path.relative_to(out): path.read_bytes() for path in out.rglob("*") if path.is_file()}


def test_the_same_bytes_twice_and_one_batch(tmp_path):
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    paid_invoice()
    first = export(tmp_path / "one")
    assert len(first) == 6
    assert export(tmp_path / "two") == first
    assert Batch.objects.count() == 1


def test_what_came_later_is_one_more_batch(tmp_path):
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    paid_invoice()
    first = export(tmp_path / "one")
    paid_invoice({"name": "Ilse Brackwater"})
    both = export(tmp_path / "one")
    assert len(both) == 12
    assert first.items() <= both.items()


def test_a_missing_account_is_a_sentence_and_no_file(tmp_path):
    paid_invoice()
    with pytest.raises(CommandError, match="These have no account yet"):
        export(tmp_path / "one")
    assert not (tmp_path / "one").exists()


def test_an_empty_span_is_a_sentence(tmp_path):
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    with pytest.raises(CommandError, match="Nothing waits"):
        export(tmp_path / "one")


def test_a_batch_of_another_month_is_left_out(tmp_path):
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    paid_invoice()
    actions.write_batch(making.ADA, dt.date(2026, 11, 25), dt.date(2026, 11, 25))
    assert list(queries.touching(dt.date(2026, 10, 1), dt.date(2026, 10, 31))) == []


def test_without_a_folder_it_is_a_preview_and_has_no_effect(capsys):
    paid_invoice()
    call_command("export_books", "--from", "2026-11-01", "--to", "2026-11-30")
    said = capsys.readouterr().out
    assert "2 entries with 8 postings wait, debit 2056.18, credit 2056.18." in said
    assert "No account yet: bank, customer private;" in said
    assert not Batch.objects.exists()
