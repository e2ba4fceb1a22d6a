"""inspections:photo_mark, a ring on a photo without script; inspections:photo_role and inspections:photo_new, photos to compare."""

import re

import pytest
from django.urls import reverse

from tests.inspections.test_finding_new import no_picture, picture
from tests.jobs.cards import HOSTILE, TESTER, dairy_card, kinds, told
from workshop.files.actions import store
from workshop.inspections import actions
from workshop.inspections.forms import WIDTHS, height_of
from workshop.inspections.models import FindingPhoto
from workshop.jobs.models import Card
from workshop.photos.models import Photo


@pytest.fixture
def shown(company, held_clock):
    """A photo of 1,600 by 1,200 on a finding."""
    blob = store(b"no picture, only its row is wanted", "image/jpeg")
    photo = Photo.objects.create(full=blob, small=blob, width=1600, height=1200, received_at=held_clock)
    actions.add_finding(TESTER, dairy_card(), place="Engine, rear", words="Seal pushed out", condition="act", photos=[photo])
    return FindingPhoto.objects.select_related("finding__card", "photo").get()


def address(shown, page="photo_mark"):
    return reverse(f"inspections:{page}", args=[shown.finding.uid, shown.photo.uid])  # inspections:photo_mark, inspections:photo_role


def tapped(client, shown, width=320, x=80, y=60, **more):
    return client.post(address(shown), {f"w{width}.x": x, f"w{width}.y": y, **more})


@pytest.mark.parametrize("width", WIDTHS)
def test_the_ring_lands_where_the_finger_was_however_wide_the_photo_was_drawn(shown, as_mechanic, width):
    """A quarter from the left, three quarters from the top."""
    before = told()
    assert tapped(as_mechanic, shown, width, width // 4, height_of(shown, width) * 3 // 4).status_code == 302
    shown.refresh_from_db()
    assert shown.mark == (250, 750)
    assert (shown.ring["cx"], shown.ring["cy"]) == (400, 900)
    assert kinds(before) == ["inspections.photo_marked"]


def test_each_width_is_one_button_of_that_size(shown, as_mechanic):
    text = as_mechanic.get(address(shown)).content.decode()
    buttons = re.findall(r'<input type="image" name="w(\d+)" width="(\d+)" height="(\d+)"', text)
    assert [(int(name), int(wide), int(high)) for name, wide, high in buttons] == [(288, 288, 216), (320, 320, 240), (576, 576, 432)]


def test_it_is_moved_and_taken_off(shown, as_mechanic):
    before = told()
    tapped(as_mechanic, shown)
    tapped(as_mechanic, shown)  # twice the same is once
    tapped(as_mechanic, shown, x=160)
    as_mechanic.post(address(shown), {"off": "1"})
    as_mechanic.post(address(shown), {"off": "1"})
    shown.refresh_from_db()
    assert shown.mark is None
    assert kinds(before) == ["inspections.photo_marked"] * 3


@pytest.mark.parametrize(
    ("ninth", "mark"), [("top left", (167, 167)), ("middle", (500, 500)), ("right", (833, 500)), ("bottom", (500, 833))]
)
def test_keys_choose_one_of_nine_places(shown, as_mechanic, ninth, mark):
    as_mechanic.post(address(shown), {"ninth": ninth})
    shown.refresh_from_db()
    assert (shown.mark, shown.where) == (mark, ninth)
    assert f'value="{ninth}" aria-pressed="true"' in as_mechanic.get(address(shown)).content.decode()


def test_the_ring_and_its_words_stand_on_the_finding(shown, as_office):
    actions.mark_photo(TESTER, shown, (833, 167))
    text = as_office.get(reverse("inspections:finding", args=[shown.finding.uid])).content.decode()
    assert 'viewBox="0 0 1600 1200"' in text
    assert 'cx="1332" cy="200" r="128"' in text
    assert "ring top right" in text
    assert "Mark it" not in text  # the office reads


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({}, "Nothing was tapped."),
        ({"w320.x": "0", "w320.y": "0"}, "With keys, choose one of the nine places"),
        ({"w320.x": "321", "w320.y": "5"}, "That is beside the photo."),
        ({"w320.x": "5", "w320.y": "241"}, "That is beside the photo."),
        ({"w320.x": "-5", "w320.y": "5"}, "That is beside the photo."),
        ({"w320.x": "5"}, "That is beside the photo."),
        ({"w320.x": "٣", "w320.y": "5"}, "That is beside the photo."),
        ({"w320.x": "9" * 4000, "w320.y": "5"}, "That is beside the photo."),
        ({"w320.x": "5\x00", "w320.y": "5"}, "That is beside the photo."),
        ({"w999.x": "5", "w999.y": "5"}, "Nothing was tapped."),
        ({"ninth": HOSTILE}, "Nothing was tapped."),
    ],
)
def test_a_tap_that_is_none_gets_a_sentence_and_changes_nothing(shown, as_mechanic, typed, sentence):
    before = told()
    answer = as_mechanic.post(address(shown), typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert HOSTILE not in answer.content.decode()
    shown.refresh_from_db()
    assert (shown.mark, told()) == (None, before)


def test_a_card_that_was_closed_meanwhile_keeps_its_photos_as_they_are(shown, as_mechanic):
    Card.objects.update(state="closed")
    assert tapped(as_mechanic, shown).status_code == 422
    assert as_mechanic.post(address(shown, "photo_role"), {"role": "was"}).status_code == 409
    assert added(as_mechanic, shown.finding, camera=picture()).status_code == 422
    shown.refresh_from_db()
    assert (shown.mark, shown.role, FindingPhoto.objects.count()) == (None, "", 1)


def test_another_findings_photo_is_a_404(shown, as_mechanic):
    other = actions.add_finding(TESTER, dairy_card(), place="Engine", words="Wet", condition="watch")
    assert as_mechanic.get(reverse("inspections:photo_mark", args=[other.uid, shown.photo.uid])).status_code == 404


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_marks_names_and_adds(shown, request, who):
    client = request.getfixturevalue(who)
    assert client.get(address(shown)).status_code == 403
    assert tapped(client, shown).status_code == 403
    assert client.post(address(shown, "photo_role"), {"role": "was"}).status_code == 403
    assert added(client, shown.finding, camera=picture()).status_code == 403


def added(client, finding, **sent):
    return client.post(reverse("inspections:photo_new", args=[finding.uid]), {"role": "after", **sent})


def test_a_photo_after_the_work_stands_beside_the_one_as_it_was(shown, as_mechanic):
    before = told()
    assert as_mechanic.post(address(shown, "photo_role"), {"role": "was"}).status_code == 302
    assert added(as_mechanic, shown.finding, camera=picture()).status_code == 302
    assert kinds(before) == ["inspections.photo_named", "inspections.photos_added"]
    text = as_mechanic.get(reverse("inspections:finding", args=[shown.finding.uid])).content.decode()
    assert text.index("<b>as it was</b>") < text.index("<b>after the work</b>")


def test_named_twice_is_named_once_and_none_takes_the_name_off(shown, as_mechanic):
    before = told()
    for role in ("should", "should", "none"):
        as_mechanic.post(address(shown, "photo_role"), {"role": role})
    shown.refresh_from_db()
    assert (shown.role, len(kinds(before))) == ("", 2)


def test_a_name_that_is_none_is_refused(shown, as_mechanic):
    answer = as_mechanic.post(address(shown, "photo_role"), {"role": "later"})
    assert answer.status_code == 422
    assert "Choose one of these." in answer.content.decode()


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        (dict, "No photo came."),
        (lambda: {"camera": no_picture()}, "This is not a picture that can be read."),
        (lambda: {"camera": picture(), "role": "later"}, "Choose one of these."),
    ],
)
def test_what_cannot_be_added_gets_a_sentence_and_a_good_picture_stays(shown, as_mechanic, sent, sentence):
    before = told()
    answer = added(as_mechanic, shown.finding, **sent())
    text = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in text
    assert (FindingPhoto.objects.count(), told()) == (1, before)
    assert text.count('name="kept"') == Photo.objects.count() - 1


def test_the_same_kept_picture_sent_twice_hangs_once(shown, as_mechanic):
    refused = added(as_mechanic, shown.finding, camera=picture(), role="later").content.decode()
    kept = re.findall(r'name="kept" value="([0-9a-f-]+)"', refused)
    before = told()
    added(as_mechanic, shown.finding, kept=kept)
    added(as_mechanic, shown.finding, kept=kept)
    assert (FindingPhoto.objects.count(), kinds(before)) == (2, ["inspections.photos_added"])
