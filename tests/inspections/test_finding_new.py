"""inspections:finding_new, a finding with pictures."""

import re
from decimal import Decimal
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from tests.jobs.cards import HOSTILE, a_uid, dairy_card, kinds, told
from workshop.inspections.models import Finding, FindingPhoto
from workshop.photos.models import Photo

GOOD = {"place": "Engine, rear", "condition": "act", "words": "Rear crank seal pushed out", "measured": "", "unit": ""}


def picture(colour="#886644"):
    data = BytesIO()
    Image.new("RGB", (640, 480), colour).save(data, "JPEG")
    return SimpleUploadedFile("seal.jpg", data.getvalue(), "image/jpeg")


def no_picture():
    return SimpleUploadedFile("<b>.jpg", b"<svg onload=alert(1)>", "image/jpeg")


def sent(client, card, **typed):
    return client.post(reverse("inspections:finding_new", args=[card.pk]), {**GOOD, "uid": a_uid(), **typed})


def test_photos_place_condition_and_words_become_a_finding(company, as_mechanic):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, camera=picture(), gallery=[picture("#111111"), picture("#222222")])
    assert answer.headers["Location"] == reverse("jobs:card", args=[card.pk])
    finding = Finding.objects.get()
    assert (finding.place, finding.condition, finding.by) == ("Engine, rear", "act", "Pip Tansley-Vole")
    assert finding.photos.count() == 3
    assert kinds(before) == ["inspections.found"]


def test_a_measure_stands_with_its_limit_and_the_limit_with_its_source(company, as_mechanic):
    sent(as_mechanic, dairy_card(), measured="5,2", unit="mm", limit_words="at least 3.0 mm", limit_source="maker's manual, DEMO, p. 3-18")
    finding = Finding.objects.get()
    assert (finding.measured, finding.unit, finding.limit_source) == (Decimal("5.2"), "mm", "maker's manual, DEMO, p. 3-18")


def test_another_place_is_written(company, as_mechanic):
    sent(as_mechanic, dairy_card(), place="other", other_place="Tank, pump mount")
    assert Finding.objects.get().place == "Tank, pump mount"


def test_the_same_page_sent_twice_is_one_finding(company, as_mechanic):
    card, uid, before = dairy_card(), a_uid(), told()
    sent(as_mechanic, card, uid=uid, camera=picture())
    sent(as_mechanic, card, uid=uid, camera=picture())
    assert (Finding.objects.count(), FindingPhoto.objects.count()) == (1, 1)
    assert kinds(before) == ["inspections.found"]


def test_a_picture_that_was_taken_stays_when_a_box_is_refused(company, as_mechanic):
    card = dairy_card()
    refused = sent(as_mechanic, card, condition="", camera=picture())
    assert refused.status_code == 422
    kept = re.findall(r'name="kept" value="([0-9a-f-]+)"', refused.content.decode())
    assert kept == [str(Photo.objects.get().uid)]
    assert sent(as_mechanic, card, kept=kept).status_code == 302
    assert [shown.photo.uid for shown in FindingPhoto.objects.all()] == [Photo.objects.get().uid]


def test_a_file_that_is_no_picture_gets_a_sentence_and_the_good_one_stays(company, as_mechanic):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, camera=picture(), gallery=[no_picture()])
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "This is not a picture that can be read." in text
    assert "&lt;b&gt;.jpg" in text
    assert 'value="Rear crank seal pushed out"' in text
    assert text.count('name="kept"') == 1
    assert (Finding.objects.count(), told()) == (0, before)


@pytest.mark.parametrize("kept", ["x", "00000000-0000-4000-8000-000000000000", "' OR 1=1"])
def test_a_picture_that_is_not_there_is_left_out(company, as_mechanic, kept):
    assert sent(as_mechanic, dairy_card(), kept=[kept]).status_code == 302
    assert not FindingPhoto.objects.exists()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "Nothing written."),
        ({"words": "x" * 10_000}, "10,000 characters. At most 200"),
        ({"place": ""}, "No place."),
        ({"place": "other"}, "No place."),
        ({"place": "the moon"}, "Choose a place"),
        ({"condition": ""}, "Choose one by its shape."),
        ({"condition": "splendid"}, "Choose one by its shape."),
        ({"measured": "4.8"}, "4.8 of what?"),
        ({"measured": "many", "unit": "mm"}, "is not a number"),
        ({"measured": "NaN", "unit": "mm"}, "does not fit"),
        ({"measured": "1e9", "unit": "mm"}, "does not fit"),
        ({"measured": "1e999999999", "unit": "mm"}, "does not fit"),
        ({"measured": "1e-999999999", "unit": "mm"}, "does not fit"),
        ({"limit_words": "at least 3.0 mm"}, "A limit has a source."),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (Finding.objects.count(), told()) == (0, before)


def test_what_was_typed_comes_back_inert(company, as_mechanic):
    assert HOSTILE not in sent(as_mechanic, dairy_card(), words=HOSTILE, condition="").content.decode()


def test_the_uid_of_another_cards_finding_is_refused(company, as_mechanic):
    uid = a_uid()
    sent(as_mechanic, dairy_card(), uid=uid)
    answer = sent(as_mechanic, dairy_card(), uid=uid)
    assert answer.status_code == 422
    assert "on another card" in answer.content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_writes_findings(company, request, who):
    assert sent(request.getfixturevalue(who), dairy_card()).status_code == 403


def test_a_card_that_is_not_there_is_a_404(company, as_mechanic):
    assert as_mechanic.get(reverse("inspections:finding_new", args=[987654321])).status_code == 404


def test_previous_work_stands_on_the_finding(company, as_mechanic):
    sent(as_mechanic, dairy_card(), previous_work="Done by others in 2024, sealant on the flange")
    text = as_mechanic.get(reverse("inspections:finding", args=[Finding.objects.get().uid])).content.decode()
    assert "sealant on the flange" in text


def test_photo_place_condition_and_save_are_enough(company, as_mechanic):
    """From the card: new finding, photo, place, condition, save; the shutter is the sixth tap. Nothing is typed."""
    sent(as_mechanic, dairy_card(), words="", camera=picture())
    assert Finding.objects.get().words == "Engine, rear: see the photo"


def offered(client, card):
    text = client.get(reverse("inspections:finding_new", args=[card.pk])).content.decode()
    return re.findall(r'name="place" value="([^"]+)"', text)


def test_the_places_to_tap_are_the_cards_own_then_those_used_most_then_the_usual_ones(company, as_mechanic):
    card, other = dairy_card(), dairy_card()
    assert offered(as_mechanic, card)[0] == "Engine, front"
    for place in ("Tank, pump mount", "Loading tail lift", "Loading tail lift", "Loading tail lift", "Cab floor"):
        sent(as_mechanic, other, place="other", other_place=place)
    assert "Loading tail lift" in offered(as_mechanic, card)
    assert "Cab floor" not in offered(as_mechanic, card)
    assert {"Cab floor", "Loading tail lift", "Tank, pump mount"} < set(offered(as_mechanic, other))
    assert len(offered(as_mechanic, other)) == 7


def test_a_usual_place_in_other_letters_is_offered_once(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card, place="other", other_place="engine, REAR")
    assert [place for place in offered(as_mechanic, card) if place.casefold() == "engine, rear"] == ["Engine, rear"]


def test_a_place_of_an_older_page_is_still_a_place(company, as_mechanic):
    card = dairy_card()
    for number in range(4):
        sent(as_mechanic, card, place="other", other_place=f"Corner {number}")
    assert "Corner 0" not in offered(as_mechanic, card)
    assert sent(as_mechanic, card, place="Corner 0").status_code == 302
