"""inspections:clip_new, a short film or sound of a finding."""

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from tests.calc import clips_made as made
from tests.jobs.cards import TESTER, dairy_card, kinds, told
from workshop.files.models import Blob
from workshop.inspections import actions
from workshop.inspections.models import Finding, FindingClip
from workshop.jobs.models import Card
from workshop.photos.models import Clip


@pytest.fixture
def finding(company):
    return actions.add_finding(TESTER, dairy_card(), place="Engine, front", words="Knocks when cold", condition="watch")


def a_file(data, name="knock.wav"):
    return SimpleUploadedFile(name, data, "text/html")


def sent(client, finding, data=None, **more):
    files = more or {"sound": a_file(made.wav() if data is None else data)}
    return client.post(reverse("inspections:clip_new", args=[finding.uid]), files)


def page(client, finding):
    return client.get(reverse("inspections:finding", args=[finding.uid]))


def test_a_sound_and_a_film_play_on_the_finding(finding, as_mechanic, as_office):
    before = told()
    assert sent(as_mechanic, finding).status_code == 302
    assert sent(as_mechanic, finding, film=a_file(made.mp4(), "smoke.mp4")).status_code == 302
    assert kinds(before) == ["inspections.clip_added"] * 2
    answer = page(as_office, finding)
    text = answer.content.decode()
    assert "<audio controls" in text
    assert "<video controls" in text
    assert "media-src 'self'" in answer["Content-Security-Policy"]


def test_sent_twice_it_hangs_once(finding, as_mechanic):
    before = told()
    sent(as_mechanic, finding)
    sent(as_mechanic, finding)
    assert (FindingClip.objects.count(), Clip.objects.count(), kinds(before)) == (1, 1, ["inspections.clip_added"])


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b"", "No clip came."),
        (b"<script>alert(1)</script>", "This is no clip that can be read."),
        (made.wav(31), "A clip may last 30 s."),
        (made.mp4(form=b"camm"), "carries a place"),
        (made.mp4()[:150], "breaks off"),
    ],
)
def test_what_is_no_clip_gets_a_sentence_and_changes_nothing(finding, as_mechanic, data, sentence):
    before = told()
    answer = sent(as_mechanic, finding, data)
    assert answer.status_code == 422
    assert sentence in answer.content.decode() or (not data and "0 bytes" in answer.content.decode())
    assert (FindingClip.objects.count(), told()) == (0, before)


def test_its_name_comes_back_inert(finding, as_mechanic):
    answer = sent(as_mechanic, finding, sound=a_file(b"x", "<img src=x onerror=alert(1)>.mp3"))
    assert "<img src=x" not in answer.content.decode()


def test_nothing_sent_is_a_sentence(finding, as_mechanic):
    answer = as_mechanic.post(reverse("inspections:clip_new", args=[finding.uid]))
    assert answer.status_code == 422
    assert "No clip came." in answer.content.decode()


def test_six_are_the_most(finding, as_mechanic):
    for seconds in range(1, 8):
        answer = sent(as_mechanic, finding, made.wav(seconds))
    assert answer.status_code == 422
    assert "6 clips are on this finding." in answer.content.decode()
    assert FindingClip.objects.count() == Clip.objects.count() == Blob.objects.count() == 6
    assert sent(as_mechanic, finding, made.wav(6)).status_code == 302, "the sixth, sent again"


def test_of_many_at_once_only_as_many_are_looked_at_as_fit(finding, as_mechanic):
    answer = sent(as_mechanic, finding, film=[a_file(made.wav(seconds)) for seconds in range(1, 10)])
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "9 clips at once. A finding has at most 6: the first 6 were looked at." in text
    assert text.count("6 clips are on this finding.") == 0
    assert FindingClip.objects.count() == Clip.objects.count() == 6


def test_a_card_that_was_closed_meanwhile_takes_none_and_nothing_is_stored(finding, as_mechanic, settings):
    Card.objects.update(state="closed")
    assert sent(as_mechanic, finding).status_code == 422
    assert not FindingClip.objects.exists()
    assert (Clip.objects.count(), Blob.objects.count()) == (0, 0)
    assert not Path(settings.FILES_ROOT).exists()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_adds_one(finding, request, who):
    assert sent(request.getfixturevalue(who), finding).status_code == 403


def test_the_page_asks_the_same_few_questions_however_many_clips(finding, as_mechanic, django_assert_max_num_queries):
    for seconds in range(1, 6):
        sent(as_mechanic, finding, made.wav(seconds))
    assert Finding.objects.count() == 1
    with django_assert_max_num_queries(13):
        page(as_mechanic, finding)
