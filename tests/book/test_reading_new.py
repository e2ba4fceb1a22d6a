"""book:reading_new and book:reading, what a meter shows (story 22 of the job)."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.book.making import a_uid, photo, upload
from tests.jobs.cards import TESTER, dairy_card, kinds, told
from workshop.photos.models import Photo
from workshop.vehicles import actions, queries
from workshop.vehicles.models import Meter, Reading


@pytest.fixture
def lorry(company):
    vehicle = dairy_card().vehicle
    actions.read_meter(TESTER, vehicle, "km", 92_400)
    return vehicle


def sent(client, vehicle, **typed):
    return client.post(reverse("book:reading_new", args=[vehicle.pk]), {"uid": a_uid(), "unit": "km", "reason": "", **typed})


def book(client, vehicle):
    return " ".join(client.get(reverse("book:vehicle", args=[vehicle.pk])).content.decode().split())


def test_a_higher_figure_counts(lorry, as_mechanic):
    assert as_mechanic.get(reverse("book:reading_new", args=[lorry.pk])).status_code == 200
    before = told()
    assert sent(as_mechanic, lorry, value="92,951").headers["Location"] == reverse("book:vehicle", args=[lorry.pk])
    assert queries.run(lorry, "km") == 92_951
    assert kinds(before) == ["vehicles.read"]


def test_changed_with_a_photo_is_a_new_meter_and_both_add_up(lorry, as_mechanic):
    before = told()
    sent(as_mechanic, lorry, value="310", reason="changed", photo=upload())
    assert queries.run(lorry, "km") == 92_400 + 310
    assert Meter.objects.filter(vehicle=lorry, unit="km").count() == 2
    assert queries.meter_now(lorry, "km").fitted_on is not None
    assert kinds(before) == ["vehicles.read"]
    text = book(as_mechanic, lorry)
    assert "92,710" in text
    assert "the meter was changed" in text
    sent(as_mechanic, lorry, value="500")
    assert queries.run(lorry, "km") == 92_400 + 500


@pytest.mark.parametrize("reason", ["", "changed"])
def test_without_reason_or_photo_it_is_held_not_rejected_and_does_not_count(lorry, as_mechanic, reason):
    assert sent(as_mechanic, lorry, value="310", reason=reason).status_code == 302
    held = Reading.objects.get(value=310)
    assert held.held_reason.startswith("On ")
    assert queries.run(lorry, "km") == 92_400
    text = book(as_mechanic, lorry)
    assert "Readings that are held" in text
    assert reverse("book:reading", args=[held.uid]) in text


def test_a_held_one_counts_once_it_is_explained(lorry, as_mechanic):
    held = actions.read_meter(TESTER, lorry, "km", 310)
    page = reverse("book:reading", args=[held.uid])
    assert as_mechanic.get(page).status_code == 200
    refused = as_mechanic.post(page, {"reason": "changed"})
    assert refused.status_code == 422
    assert "shown by a photo" in refused.content.decode()
    before = told()
    assert as_mechanic.post(page, {"reason": "changed", "photo": upload()}).status_code == 302
    assert queries.run(lorry, "km") == 92_710
    assert kinds(before) == ["vehicles.reading_explained"]
    again = as_mechanic.post(page, {"reason": "changed"})
    assert again.status_code == 422
    assert "is not held" in again.content.decode()


def test_later_readings_of_the_new_meter_that_were_held_count_with_it(lorry):
    first = actions.read_meter(TESTER, lorry, "km", 310)
    actions.read_meter(TESTER, lorry, "km", 480)
    actions.explain_reading(TESTER, first, "changed", photo())
    assert queries.run(lorry, "km") == 92_400 + 480


def test_misread_before_holds_the_high_ones_and_keeps_them(lorry):
    actions.read_meter(TESTER, lorry, "km", 92_940, reason="")
    wrong = actions.read_meter(TESTER, lorry, "km", 99_400)
    actions.read_meter(TESTER, lorry, "km", 93_000, reason="misread")
    wrong.refresh_from_db()
    assert wrong.held_reason == "Misread: later it was 93,000 km."
    assert queries.run(lorry, "km") == 93_000
    assert Reading.objects.count() == 4


@pytest.mark.parametrize("value", ["", "-1", "x", "92e3", "9" * 10_000, "1.234", "<script>", "NaN", "1,2,3.4.5", "٣"])
def test_what_no_meter_shows_is_refused_with_a_sentence(lorry, as_mechanic, value):
    before = told()
    answer = sent(as_mechanic, lorry, value=value)
    assert answer.status_code == 422
    assert 'class="err"' in answer.content.decode()
    assert "<script>" not in answer.content.decode().replace("<script src", "")
    assert (told(), Reading.objects.count()) == (before, 1)


def test_a_refused_page_keeps_what_was_typed_and_the_photo(lorry, as_mechanic):
    answer = sent(as_mechanic, lorry, value="x1", unit="h", photo=upload())
    text = answer.content.decode()
    assert 'value="x1"' in text
    assert f'name="kept" value="{Photo.objects.get().uid}"' in text
    sent(as_mechanic, lorry, value="310", reason="changed", kept=str(Photo.objects.get().uid))
    assert queries.run(lorry, "km") == 92_710


def test_a_file_that_is_no_picture_is_refused_beside_its_box(lorry, as_mechanic):
    from django.core.files.uploadedfile import SimpleUploadedFile

    answer = sent(as_mechanic, lorry, value="310", photo=SimpleUploadedFile("<b>.jpg", b"<svg>", "image/jpeg"))
    assert answer.status_code == 422
    assert "&lt;b&gt;.jpg" in answer.content.decode()
    assert Reading.objects.count() == 1


def test_sent_twice_it_is_one_reading(lorry, as_mechanic):
    uid, before = a_uid(), told()
    sent(as_mechanic, lorry, value="93,000", uid=uid)
    sent(as_mechanic, lorry, value="93,000", uid=uid)
    assert (Reading.objects.count(), told() - before) == (2, 1)


def test_half_hours_are_kept(lorry, as_mechanic):
    sent(as_mechanic, lorry, value="2140,5", unit="h")
    assert queries.run(lorry, "h") == Decimal("2140.5")


def test_not_for_the_bookkeeper(lorry, as_bookkeeper):
    assert sent(as_bookkeeper, lorry, value="1").status_code == 403
