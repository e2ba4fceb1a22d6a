"""book:photo_move and book:finding_move, what hangs on the wrong card (story 23 of the job)."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.book.making import pads, photo
from tests.jobs.cards import HOSTILE, TESTER, dairy_card, kinds, told
from workshop.inspections import actions as inspections
from workshop.inspections.models import Finding, FindingPhoto
from workshop.jobs import actions as jobs
from workshop.links.queries import token_of
from workshop.quotes import actions as quotes
from workshop.quotes.queries import link_of

CAMPER = {"make": "Ostrel", "model": "Wander 28", "plate": "VM 00 DEMO-2"}


@pytest.fixture
def card_a(company):
    return dairy_card()


@pytest.fixture
def card_b(card_a):
    return dairy_card(vehicle=CAMPER)


def at_b(card_b):
    return inspections.add_finding(TESTER, card_b, place="Front axle", words="Pads of the camper", condition="watch")


def move(client, shown, to, card="", reason="Wrong vehicle."):
    return client.post(reverse("book:photo_move", args=[shown.pk]), {"card": card, "to": to.pk, "reason": reason})


def test_the_first_job_the_moment_and_the_mover_stay_and_what_was_sent_shows_it_as_it_was(card_a, card_b, as_mechanic):
    """Story 23. The version pins the bytes by their hash, so the link goes on showing them."""
    finding, _ = pads(card_a)
    shown = finding.photos.get()
    version = quotes.send_version(TESTER, card_a, for_whom="Ilse Brackwater")
    page = reverse("quotes:go_ahead", args=[token_of(link_of(version))])
    picture = reverse("quotes:picture", args=[token_of(link_of(version)), shown.photo.uid])
    customer = Client()
    text, data = customer.get(page).content.decode(), customer.get(picture).content
    before, other = told(), at_b(card_b)
    answer = move(as_mechanic, shown, other, str(card_b))
    assert answer.status_code == 302
    shown.refresh_from_db()
    assert (shown.finding, shown.origin, shown.origin_card, shown.moved_by) == (other, finding, card_a, "Pip Tansley-Vole")
    assert shown.moved_at is not None
    assert kinds(before) == ["inspections.found", "inspections.photo_moved"]
    assert str(shown.photo.uid) in text
    after = customer.get(page).content.decode()
    assert str(shown.photo.uid) in after
    assert (data, customer.get(picture).status_code) == (customer.get(picture).content, 200)
    on_b = as_mechanic.get(reverse("inspections:finding", args=[other.uid])).content.decode()
    assert f"taken on card {card_a}, moved by Pip Tansley-Vole" in on_b
    on_a = as_mechanic.get(reverse("book:corrections", args=[card_a.pk])).content.decode()
    assert "A photo was moved to" in on_a


def test_moved_on_once_more_the_first_card_stays(card_a, card_b, as_mechanic):
    finding, _ = pads(card_a)
    shown = finding.photos.get()
    other = at_b(card_b)
    inspections.move_photo(TESTER, shown, other, "First.")
    third = inspections.add_finding(TESTER, card_a, place="Engine", words="Third", condition="good")
    shown.refresh_from_db()
    inspections.move_photo(TESTER, shown, third, "Second.")
    shown.refresh_from_db()
    assert (shown.finding, shown.origin, shown.origin_card) == (third, finding, card_a)


def test_the_sheet_shows_the_findings_of_the_card_that_is_named(card_a, card_b, as_mechanic):
    finding, _ = pads(card_a)
    shown = finding.photos.get()
    at_b(card_b)
    page = reverse("book:photo_move", args=[shown.pk])
    assert "has no other finding" in as_mechanic.get(page).content.decode()
    assert "Pads of the camper" in as_mechanic.get(page, {"card": str(card_b)}).content.decode()
    assert "There is no card 99-1." in as_mechanic.get(page, {"card": "99-1"}).content.decode()
    assert HOSTILE not in as_mechanic.get(page, {"card": HOSTILE}).content.decode()


def test_no_reason_the_same_finding_another_cards_and_a_cancelled_card_are_refused(card_a, card_b, as_mechanic):
    finding, _ = pads(card_a)
    shown, other, before = finding.photos.get(), at_b(card_b), told()
    for answer in (
        move(as_mechanic, shown, other, str(card_b), reason=""),
        move(as_mechanic, shown, finding),
        move(as_mechanic, shown, other),  # not on the card that is shown
        move(as_mechanic, shown, other, str(card_b), reason="x" * 10_000),
    ):
        assert answer.status_code == 422
    assert told() == before
    jobs.cancel_card(TESTER, card_b, "Not needed.", billed=lambda _card: "")
    answer = move(as_mechanic, shown, other, str(card_b))
    assert answer.status_code == 422
    assert "is cancelled" in answer.content.decode()
    assert FindingPhoto.objects.get().finding == finding


def sent(client, finding, **typed):
    return client.post(reverse("book:finding_move", args=[finding.uid]), {"card": "", "reason": "Wrong card.", **typed})


def test_a_finding_goes_with_its_photos_and_leaves_links_behind(card_a, card_b, as_mechanic):
    finding, line = pads(card_a)
    cause = inspections.add_finding(TESTER, card_a, place="Engine", words="Cause", condition="act")
    inspections.link_cause(TESTER, finding, cause)
    assert as_mechanic.get(reverse("book:finding_move", args=[finding.uid])).status_code == 200
    before = told()
    answer = sent(as_mechanic, finding, card=str(card_b))
    assert answer.headers["Location"] == reverse("inspections:finding", args=[finding.uid])
    finding.refresh_from_db()
    assert (finding.card, finding.origin_card, finding.moved_by) == (card_b, card_a, "Pip Tansley-Vole")
    assert (finding.photos.count(), finding.lines.count(), finding.causes.count()) == (1, 0, 0)
    assert kinds(before) == ["inspections.finding_moved"]
    text = as_mechanic.get(reverse("inspections:finding", args=[finding.uid])).content.decode()
    assert "First written on" in text
    assert line.card == card_a


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"card": ""}, "No card."),
        ({"card": "99-9999"}, "There is no card 99-9999."),
        ({"card": HOSTILE}, "characters. At most 20"),
        ({"reason": ""}, "No reason."),
    ],
)
def test_a_finding_that_cannot_go_stays_and_what_was_typed_too(card_a, card_b, as_mechanic, typed, sentence):
    finding, _ = pads(card_a)
    before = told()
    answer = sent(as_mechanic, finding, **{"card": str(card_b), **typed})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert HOSTILE not in answer.content.decode()
    assert (told(), Finding.objects.get(pk=finding.pk).card) == (before, card_a)


def test_to_its_own_card_is_refused(card_a, as_mechanic):
    finding, _ = pads(card_a, shown=photo("b"))
    assert sent(as_mechanic, finding, card=str(card_a)).status_code == 422


def test_the_office_moves_nothing(card_a, as_office):
    finding, _ = pads(card_a)
    assert sent(as_office, finding, card="1").status_code == 403
    assert as_office.get(reverse("book:photo_move", args=[finding.photos.get().pk])).status_code == 403
