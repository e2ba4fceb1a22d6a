"""inspections:intake, how the vehicle came."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, told
from tests.photos import pictures
from workshop.inspections.models import Intake, IntakePhoto
from workshop.jobs.models import Card
from workshop.vehicles import actions as vehicles
from workshop.vehicles.models import Reading

WORDS = {
    "fuel": "half",
    "lamps": "charge lamp",
    "damage": "Mirror left, cracked",
    "belongings": "Two crates, a terrier’s lead",
    "keys": "one, on the board",
    "fitted_by_others": "tow bar",
    "begun_state": "Front cover off, belt loose",
    "begun_parts": "Belt, two bolts",
    "begun_missing": "Cover gasket",
    "acknowledged_by": "Tobin Marrow",
}
GOOD = {"km": "92400", "hours": "2140,5", **WORDS}


def sent(client, card, **typed):
    return client.post(reverse("inspections:intake", args=[card.pk]), {"uid": a_uid(), **GOOD, **typed})


def picture(name="one.jpg"):
    return SimpleUploadedFile(name, pictures.saved(pictures.card()), "image/jpeg")


@pytest.mark.parametrize("who", ["as_owner", "as_mechanic", "as_office"])
def test_how_it_came_is_one_line_of_history_and_one_box_on_the_card(company, request, who):
    client, card, before = request.getfixturevalue(who), dairy_card(), told()
    assert sent(client, card).status_code == 302
    intake = Intake.objects.get()
    assert {name: getattr(intake, name) for name in WORDS} == WORDS
    assert (str(intake.km), str(intake.hours)) == ("92400.0 km", "2140.5 h")
    assert kinds(before) == ["inspections.taken_in"]
    text = client.get(reverse("jobs:card", args=[card.pk])).content.decode()
    for said in ("fuel half", "one, on the board", "Front cover off", "Cover gasket", "seen with Tobin Marrow", "92,400 km"):
        assert said in text


def test_the_same_page_sent_twice_is_one_intake(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    for _ in range(2):
        assert sent(as_mechanic, card, uid=uid).status_code == 302
    assert (Intake.objects.count(), Reading.objects.count()) == (1, 2)


def test_the_number_of_another_cards_intake_is_refused(company, as_mechanic):
    card, other, uid = dairy_card(), dairy_card(), a_uid()
    sent(as_mechanic, card, uid=uid)
    answer = sent(as_mechanic, other, uid=uid)
    assert answer.status_code == 422
    assert "on another card" in answer.content.decode()


def test_a_lower_figure_is_held_and_says_so(company, as_mechanic):
    card = dairy_card()
    vehicles.read_meter(TESTER, card.vehicle, "km", 100_000)
    text = as_mechanic.get(sent(as_mechanic, card).headers["Location"]).content.decode()
    assert "meter held" in text
    assert "Say why in the vehicle book." in text
    assert "100,000 km" in text


def test_pictures_of_the_damage_and_of_the_meter_stay_where_they_belong(company, as_mechanic):
    card = dairy_card()
    assert sent(as_mechanic, card, camera=picture(), meter=picture("meter.jpg")).status_code == 302
    intake = Intake.objects.get()
    assert intake.photos.count() == 1
    assert intake.km.photo_uid == intake.hours.photo_uid
    assert intake.km.photo_uid not in {shown.photo.uid for shown in intake.photos.all()}
    page = as_mechanic.get(reverse("inspections:intake", args=[card.pk])).content.decode()
    assert str(intake.photos.get().photo.uid) in page


def test_pictures_taken_before_a_refusal_are_kept(company, as_mechanic):
    card = dairy_card()
    refused = sent(as_mechanic, card, km="many", camera=picture(), meter=picture())
    assert refused.status_code == 422
    text = refused.content.decode()
    kept, meter = (uuid.UUID(text.split(f'name="{name}" value="')[1][:36]) for name in ("kept", "kept_meter"))
    assert sent(as_mechanic, card, kept=kept, kept_meter=meter).status_code == 302
    assert IntakePhoto.objects.get().photo.uid == kept
    assert Intake.objects.get().km.photo_uid == meter


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"km": "many"}, "is not a number"),
        ({"km": "-5"}, "no figure of a meter"),
        ({"hours": "1.25"}, "no figure of a meter"),
        ({"km": "1e9"}, "does not fit"),
        ({"damage": "x" * 10_000}, "10,000 characters. At most 500"),
        ({"keys": "a\u202eb"}, "a sign in it that no paper can print"),
        ({"uid": "x"}, "The page has lost its number."),
        ({"meter": SimpleUploadedFile("meter.txt", b"no picture", "text/plain")}, "meter.txt: "),
        ({"camera": SimpleUploadedFile("a.txt", b"no picture", "text/plain")}, "a.txt: "),
        (dict.fromkeys(GOOD, ""), "Nothing written."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "Cover gasket" in answer.content.decode() or "begun_missing" in typed
    assert (Intake.objects.count(), Reading.objects.count(), told()) == (0, 0, before)


def test_a_card_that_is_over_takes_no_intake(company, as_mechanic):
    card = dairy_card()
    Card.objects.update(state="closed")
    assert sent(as_mechanic, card).status_code == 422


def test_what_was_written_before_stands_in_the_boxes_and_a_later_look_completes_it(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card)
    assert 'value="charge lamp"' in as_mechanic.get(reverse("inspections:intake", args=[card.pk])).content.decode()


def test_what_was_typed_stands_there_inert(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card, **dict.fromkeys(("fuel", "lamps", "damage", "begun_state"), HOSTILE))
    for page in ("jobs:card", "inspections:intake"):
        assert HOSTILE not in as_mechanic.get(reverse(page, args=[card.pk])).content.decode()


def test_a_card_with_an_intake_asks_sixteen_questions_at_most(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card)
    sent(as_mechanic, card)
    with CaptureQueriesContext(connection) as asked:
        as_mechanic.get(reverse("jobs:card", args=[card.pk]))
    assert len(asked) <= 16


def test_it_is_offered_under_the_thumb_once_the_place_was_looked_at(company, as_mechanic):
    card = dairy_card()
    as_mechanic.post(reverse("inspections:site_check", args=[card.pk]), {"uid": a_uid(), "ground": "gravel", "verdict": "work"})
    bar = as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode().split('class="bar"')[1]
    assert reverse("inspections:intake", args=[card.pk]) in bar


def test_the_bookkeeper_gets_a_calm_403(company, as_bookkeeper):
    assert sent(as_bookkeeper, dairy_card()).status_code == 403


def test_a_card_that_is_not_there_is_a_404(company, as_mechanic):
    assert as_mechanic.get(reverse("inspections:intake", args=[987654321])).status_code == 404
