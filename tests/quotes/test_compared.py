"""Photos on the customer's page and paper: the ring that was drawn, and what each stands for in a comparison. Frozen with the quote."""

import io

import pikepdf
import pytest

from tests.quotes.conftest import ADA
from tests.quotes.test_go_ahead import page_of, path_of
from tests.quotes.test_review import ordered
from workshop.files.actions import store
from workshop.inspections.models import FindingPhoto
from workshop.photos.models import Photo
from workshop.quotes import actions, queries

pytestmark = pytest.mark.django_db


@pytest.fixture
def compared(finding):
    """The belt as it was, with a ring; as it should be; and after."""
    mine = finding.photos.get()
    mine.role, mine.mark_x, mine.mark_y = "was", 250, 500
    mine.save()
    for role in ("after", "should"):
        full, small = store(f"full {role}".encode(), "image/jpeg"), store(f"small {role}".encode(), "image/jpeg")
        photo = Photo.objects.create(
            full=full, small=small, width=1600, height=1200, taken_at=mine.photo.taken_at, received_at=mine.photo.taken_at
        )
        FindingPhoto.objects.create(finding=finding, photo=photo, role=role)
    return mine


@pytest.fixture
def sent(card, compared):
    return actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])


def test_ring_and_role_are_frozen_in_the_order_they_are_compared(sent, compared):
    photos = queries.body(sent)["offered"][0]["findings"][0]["photos"]
    assert [(photo["role"], photo["mark"]) for photo in photos] == [("was", [250, 500]), ("should", None), ("after", None)]
    compared.mark_x = 900
    compared.save()
    assert queries.body(sent)["offered"][0]["findings"][0]["photos"][0]["mark"] == [250, 500]


def test_the_page_draws_the_ring_and_names_each(client, sent):
    """A quarter from the left and half down on 1600 by 1200: 400, 600; by hand."""
    page = page_of(client.get(path_of(sent)))
    assert page.xpath("//*[@class='marked']//circle/@cx") == ["400", "400"]
    assert page.xpath("//*[@class='marked']//circle/@cy") == ["600", "600"]
    assert [caption.text_content().split(" · ")[0] for caption in page.xpath("//figcaption")] == [
        "as it was",
        "as it should be",
        "after the work",
    ]
    assert "the ring shows the place" in page.xpath("//figure[1]//img/@alt")[0]


def test_the_paper_draws_them_too(client, sent):
    ordered(client, sent)
    text = client.get(path_of(sent, "paper")).content.decode()
    assert text.count('cx="400"') == 2
    assert text.index("as it was") < text.index("as it should be") < text.index("after the work")


def test_the_paper_with_a_ring_is_drawn(client, sent, real_paper):
    ordered(client, sent)
    with pikepdf.open(io.BytesIO(client.get(path_of(sent, "paper")).content)) as pdf:
        assert len(pdf.pages) >= 1


def without(page):
    """A body as it was frozen before rings, roles and the price of stopping were kept."""
    for line in [*page["committed"]["lines"], *page["offered"]]:
        line.pop("stop_here", None)
        for finding in line["findings"]:
            for photo in finding["photos"]:
                photo.pop("role")
                photo.pop("mark")
    return page


def test_a_quote_from_before_they_were_kept_still_shows(client, sent, monkeypatch):
    body = queries.body
    monkeypatch.setattr(queries, "body", lambda version: without(body(version)))
    page = page_of(client.get(path_of(sent)))
    assert (page.xpath("//*[@class='marked']//circle"), len(page.xpath("//figure//img"))) == ([], 3)
    ordered(client, sent)
    assert client.get(path_of(sent, "receipt")).status_code == 200


def test_the_public_sheet_knows_the_ring():
    from tests.pages.test_style import PUBLIC, rules

    assert len([rule for rule in rules(PUBLIC) if rule.startswith(".marked")]) == 3
