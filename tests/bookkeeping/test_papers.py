"""bookkeeping:papers and bookkeeping:papers_zip: all papers of a span in one zip that is made while it is sent."""

import datetime as dt
import io
import tracemalloc
import uuid
import zipfile
from unittest.mock import patch

import pytest
from django.test import TestCase
from django.urls import reverse

from tests.invoices import making
from workshop import clock
from workshop.bookkeeping import actions, queries
from workshop.files.actions import store
from workshop.invoices import actions as invoices
from workshop.invoices.models import Document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
PAPERS, ZIP = "/books/papers/", "/books/papers/zip/"
SPAN = {"from_on": "2026-11-01", "to_on": "2026-11-30"}


@pytest.fixture
def documents():
    """Two invoices; the paper of the first could not be rendered when it was issued."""
    with TestCase.captureOnCommitCallbacks(execute=False):
        first = invoices.issue_invoice(making.ADA, making.ready_card(), request_uid=uuid.uuid4())
        second = invoices.issue_invoice(making.ADA, making.ready_card({"name": "Ilse Brackwater"}), request_uid=uuid.uuid4())
    Document.objects.filter(pk=second.pk).update(pdf=store(b"%PDF- the second", "application/pdf"))
    return first, second


def sent(client, **span):
    answer = client.get(ZIP, {**SPAN, **span})
    return answer, b"".join(answer.streaming_content)


def test_the_page_says_how_many(as_bookkeeper, documents):
    assert (reverse("bookkeeping:papers"), reverse("bookkeeping:papers_zip")) == (PAPERS, ZIP)
    text = as_bookkeeper.get(PAPERS, SPAN).content.decode()
    assert "2 papers" in text
    assert "Save all in one zip" in text
    assert "No invoice" in as_bookkeeper.get(PAPERS).content.decode()


def test_every_paper_by_its_number_and_one_that_is_missing_is_rendered(as_bookkeeper, documents):
    first, second = documents
    with patch("workshop.invoices.pdf.render", return_value=b"%PDF- the first"):
        answer, data = sent(as_bookkeeper)
    assert answer["Content-Disposition"] == 'attachment; filename="papers-2026-11-01-2026-11-30.zip"'
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == sorted([f"{first.number}.pdf", f"{second.number}.pdf"])
        assert archive.read(f"{first.number}.pdf") == b"%PDF- the first"
        assert archive.read(f"{second.number}.pdf") == b"%PDF- the second"


def test_the_same_bytes_each_time(as_owner, documents):
    with patch("workshop.invoices.pdf.render", return_value=b"%PDF- the first"):
        first = sent(as_owner)[1]
        with clock.frozen(dt.datetime(2027, 3, 1, 8, tzinfo=dt.UTC)):
            assert sent(as_owner)[1] == first


def test_an_empty_span_is_an_empty_zip(as_owner, documents):
    _, data = sent(as_owner, from_on="2026-10-01", to_on="2026-10-31")
    assert zipfile.ZipFile(io.BytesIO(data)).namelist() == []


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_nothing_is_in_memory_for_all(documents):
    """Thirty papers of 1 MB: what is held at once is a piece of one."""
    first, _ = documents
    Document.objects.filter(pk=first.pk).update(pdf=store(b"%PDF-" + bytes(1_000_000), "application/pdf"))
    first.refresh_from_db()
    tracemalloc.start()
    length = sum(map(len, actions.zip_of(iter([first] * 30))))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert length > 30_000_000
    assert peak < 2_000_000


@pytest.mark.parametrize("wrong", [{"from_on": "soon"}, {"to_on": ""}, {"from_on": "2026-12-01"}])
def test_days_that_cannot_be_read(as_owner, wrong):
    assert as_owner.get(PAPERS, {**SPAN, **wrong}).status_code == 422
    assert as_owner.get(ZIP, {**SPAN, **wrong}).status_code == 404


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_the_books_are_for_owner_and_bookkeeper(who, request):
    client = request.getfixturevalue(who)
    assert (client.get(PAPERS).status_code, client.get(ZIP).status_code) == (403, 403)


def test_both_days_are_counted(documents):
    day = documents[0].issued_on
    assert queries.papers(day, day).count == 2
