"""The paper: rendered once from what was frozen, tagged, archivable, read by programs that are not ours."""

import io
import shutil
import subprocess
import uuid
from unittest.mock import patch

import pikepdf
import pytest

from tests.invoices import making
from workshop.files import queries as files
from workshop.invoices import actions, pdf, queries
from workshop.invoices.models import Document

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
ADA = making.ADA
PDFAID = "http://www.aiim.org/pdfa/ns/id/"


def issued(customer=None):
    return actions.issue_invoice(ADA, making.ready_card(customer), request_uid=uuid.uuid4())


def words_of(data, folder):
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext is not installed")
    (folder / "paper.pdf").write_bytes(data)
    said = subprocess.run(["pdftotext", "-layout", folder / "paper.pdf", "-"], capture_output=True, text=True, check=True).stdout
    return " ".join(said.split())


@pytest.fixture
def paper():
    return files.read(actions.ensure_paper(issued()).pdf_id)


def test_it_says_of_itself_that_it_is_pdf_a_3b(paper):
    """ISO 19005-3: pdfaid:part 3, pdfaid:conformance B, an output intent."""
    with pikepdf.open(io.BytesIO(paper)) as document:
        told = document.open_metadata()
        assert (told[f"{{{PDFAID}}}part"], told[f"{{{PDFAID}}}conformance"]) == ("3", "B")
        assert document.Root.OutputIntents[0].S == "/GTS_PDFA1"


def test_it_is_tagged_and_has_a_language(paper):
    """ISO 32000-1, 14.7 and 14.8: MarkInfo, StructTreeRoot, Lang; the table has header cells."""
    with pikepdf.open(io.BytesIO(paper)) as document:
        assert document.Root.MarkInfo.Marked
        assert str(document.Root.Lang) == "en"
        kinds = {str(o.S) for o in document.objects if isinstance(o, pikepdf.Dictionary) and "/S" in o and "/P" in o}
        assert {"/Table", "/TH", "/H1", "/P"} <= kinds


def test_it_holds_its_fonts_and_asks_for_nothing(paper):
    with pikepdf.open(io.BytesIO(paper)) as document:
        fonts = [o for o in document.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
        assert fonts and all("/FontFile2" in font or "/FontFile3" in font for font in fonts)
        assert not any("/URI" in o for o in document.objects if isinstance(o, pikepdf.Dictionary))


def test_it_says_what_was_agreed_by_whom_and_the_sums(paper, tmp_path):
    said = words_of(paper, tmp_path)
    for words in (
        "invoice I26-0001",
        "Osgood Plumtree",
        "agreed 2026-11-25",
        "by Osgood Plumtree, version 1",
        "842.70",
        "tax 22 % on 842.70",
        "185.39",
        "1,028.09",
        "To be paid by",
        "2026-12-09",
        "Lantern Bank",
        "page 1 of 1",
        "opened and closed once for lines 1+2",
    ):
        assert words in said, words


def test_it_is_rendered_once_and_the_bytes_stay():
    document = issued()
    first = actions.ensure_paper(document)
    with patch.object(pdf, "render", side_effect=AssertionError("rendered again")):
        again = actions.ensure_paper(Document.objects.get(pk=document.pk))
    assert again.pdf_id == first.pdf_id


def test_two_openings_at_once_keep_the_first_paper():
    document = issued()
    other = Document.objects.get(pk=document.pk)
    kept = actions.ensure_paper(document).pdf_id
    assert actions.ensure_paper(other).pdf_id == kept


def test_the_same_body_gives_the_same_bytes():
    document = issued()
    body = queries.body(document)
    assert pdf.render(body, document.sha256) == pdf.render(body, document.sha256)


def test_after_the_commit_it_is_there(django_capture_on_commit_callbacks):
    with django_capture_on_commit_callbacks(execute=True):
        document = issued()
    assert Document.objects.get(pk=document.pk).pdf_id


def test_a_paper_that_fails_leaves_the_invoice_standing(django_capture_on_commit_callbacks, caplog):
    with patch.object(pdf, "render", side_effect=OSError("no fonts")), django_capture_on_commit_callbacks(execute=True):
        document = issued()
    assert Document.objects.get(pk=document.pk).pdf_id is None
    assert actions.ensure_paper(document).pdf_id


def test_it_fetches_nothing_that_a_customer_wrote():
    document = issued({"name": '<img src="file:///etc/hostname"><script>1</script>', "address": "a\nb"})
    text = pdf.html(queries.body(document), document.sha256)
    assert "<script>" not in text
    assert "&lt;img" in text


def test_a_long_one_counts_its_pages(tmp_path):
    document = issued()
    body = queries.body(document)
    body["lines"] = body["lines"] * 5
    assert "page 3 of 3" in words_of(pdf.render(body, document.sha256), tmp_path)


def test_a_credit_note_says_what_it_takes_back(tmp_path):
    document = issued()
    note = actions.credit_invoice(ADA, document, reason="Sent to the wrong address", request_uid=uuid.uuid4())
    said = words_of(files.read(actions.ensure_paper(note).pdf_id), tmp_path)
    assert "Credit note" in said
    assert f"takes invoice {document.number} back in full" in said
    assert "Sent to the wrong address" in said
