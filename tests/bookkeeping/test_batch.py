"""bookkeeping:batch and bookkeeping:file: totals, and the same bytes each time."""

import datetime as dt

import pytest
from django.urls import reverse

from tests.bookkeeping.test_write_batch import paid_invoice
from tests.invoices import making
from workshop.bookkeeping import actions, queries
from workshop.files import queries as files

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]


@pytest.fixture
def batch():
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    paid_invoice()
    return actions.write_batch(making.ADA, dt.date(2026, 11, 1), dt.date(2026, 11, 30))


def test_it_shows_totals_documents_and_files(as_bookkeeper, batch):
    text = as_bookkeeper.get(reverse("bookkeeping:batch", args=[1])).content.decode()
    for words in ("2,056.18", "185.39", "Payment by bank transfer, Osgood Plumtree", "journal-0001.hledger", "control-0001.json"):
        assert words in text


def test_a_file_is_the_same_bytes_each_time(as_bookkeeper, batch):
    for file in batch.files.all():
        address = reverse("bookkeeping:file", args=[1, file.name])
        first, second = as_bookkeeper.get(address), as_bookkeeper.get(address)
        assert b"".join(first) == b"".join(second) == files.read(file.blob_id)
        assert first["Content-Disposition"] == f'attachment; filename="{file.name}"'
        assert first["X-Content-Type-Options"] == "nosniff"


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_the_books_are_for_owner_and_bookkeeper(who, batch, request):
    client = request.getfixturevalue(who)
    assert client.get(reverse("bookkeeping:batch", args=[1])).status_code == 403
    assert client.get(reverse("bookkeeping:file", args=[1, "postings-0001.csv"])).status_code == 403


def test_what_is_not_there_is_404(as_owner, batch):
    assert as_owner.get(reverse("bookkeeping:batch", args=[2])).status_code == 404
    assert as_owner.get(reverse("bookkeeping:file", args=[1, "passwords.csv"])).status_code == 404
