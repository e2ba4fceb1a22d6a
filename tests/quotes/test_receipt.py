"""The receipt (quotes:receipt) and its paper (quotes:paper)."""

import hashlib
import io

import pikepdf
import pytest

from tests.quotes.conftest import ADA, in_hours
from tests.quotes.test_go_ahead import everything_kept, path_of, words_of
from tests.quotes.test_review import ordered
from workshop import clock
from workshop.links import actions as links
from workshop.quotes import actions, queries
from workshop.quotes.models import GoAhead

pytestmark = pytest.mark.django_db


def test_it_shows_what_was_ordered_by_whom_and_when(client, version):
    ordered(client, version)
    words = words_of(client.get(path_of(version, "receipt")))
    for piece in (
        "Order received",
        "Osgood Plumtree, the owner",
        "1 Timing belt kit",
        "289.63",
        "659.53",
        "Not now",
        "leaks more, within months",
        "UTC, by the link",
    ):
        assert piece in words


def test_the_paper_is_the_stored_one_and_its_fingerprint_stands_on_the_receipt(client, version, real_paper):
    ordered(client, version)
    before = everything_kept()
    paper = client.get(path_of(version, "paper"))
    assert paper["Content-Type"] == "application/pdf"
    sha256 = hashlib.sha256(paper.content).hexdigest()
    assert sha256 == GoAhead.objects.get().paper_id
    assert sha256 in words_of(client.get(path_of(version, "receipt"))).replace(" ", "")
    assert client.get(path_of(version, "paper")).content == paper.content
    assert everything_kept() == before


def test_the_paper_is_tagged_and_made_to_last(client, card, finding, real_paper):
    """PDF/A-3b as WeasyPrint declares it, read by pikepdf; not validated with veraPDF."""
    version = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])
    ordered(client, version)
    with pikepdf.open(io.BytesIO(client.get(path_of(version, "paper")).content)) as pdf:
        assert pdf.Root.MarkInfo.Marked
        assert "/StructTreeRoot" in pdf.Root
        with pdf.open_metadata() as about:
            assert (about["pdfaid:part"], about["pdfaid:conformance"]) == ("3", "B")


def test_the_page_of_an_answered_quote_leads_to_the_receipt(client, version):
    ordered(client, version)
    assert client.get(path_of(version))["Location"] == path_of(version, "receipt")


def test_before_the_answer_there_is_no_receipt_and_no_paper(client, version):
    assert client.get(path_of(version, "receipt"))["Location"] == path_of(version)
    assert client.get(path_of(version, "paper")).status_code == 404


def test_the_receipt_outlives_the_day_of_the_quote(client, version):
    ordered(client, version)
    with clock.frozen(in_hours(24 * 60)):
        assert client.get(path_of(version, "receipt")).status_code == 200


def test_a_revoked_link_shows_no_receipt(client, version):
    ordered(client, version)
    where = path_of(version, "receipt")
    links.revoke(queries.link_of(version))
    response = client.get(where)
    assert response.status_code == 410
    assert "Ostrel" not in words_of(response)


def test_the_paper_says_word_for_word_what_the_page_said(client, card, finding):
    version = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])
    ordered(client, version)
    text = client.get(path_of(version, "paper")).content.decode()
    for line in queries.body(version)["offered"]:
        assert line["words"] in text
        assert line["plain_words"] in text
        assert line["if_left"] in text
    for piece in ("Source: belt maker’s sheet, ed. 2023, p. 2. DEMO", "659.53", "Osgood Plumtree, the owner", "data:image/jpeg;base64,"):
        assert piece in text
    assert finding.photos.get().photo.full_id in text
    assert version.sha256 in text.replace(" ", "")
