"""photos:clip: short films and sounds, taken in by content and played to people of the business."""

import uuid
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from tests.calc import clips_made as made
from workshop.files.models import Blob
from workshop.files.queries import problems, read
from workshop.photos import actions
from workshop.photos.models import Clip

pytestmark = pytest.mark.django_db


@pytest.fixture
def clip() -> Clip:
    return actions.take_clip(made.wav())


def address(uid: uuid.UUID) -> str:
    return reverse("photos:clip", args=[uid])


def test_a_clip_is_kept_under_its_hash_without_its_place() -> None:
    clip = actions.take_clip(made.mp4(notes=made.told_place()))
    assert (clip.media_type, clip.seconds, clip.is_film) == ("video/mp4", Decimal("12.0"), True)
    assert made.PLACE not in read(clip.blob_id)
    assert list(problems()) == []


def test_the_same_clip_twice_is_one() -> None:
    assert actions.take_clip(made.wav()) == actions.take_clip(made.wav())
    assert (Clip.objects.count(), Blob.objects.count()) == (1, 1)


def test_two_at_once_cannot_make_two_of_it() -> None:
    clip = actions.take_clip(made.wav())
    with pytest.raises(IntegrityError), transaction.atomic():
        Clip.objects.create(blob=clip.blob, media_type=clip.media_type, seconds=3, received_at=clip.received_at)
    assert Clip.objects.get() == clip


def test_thirty_seconds_are_the_most() -> None:
    assert actions.take_clip(made.wav(30)).seconds == 30
    with pytest.raises(actions.Refused, match=r"31\.0 s\. A clip may last 30 s\."):
        actions.take_clip(made.wav(31))


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "nothing": (lambda: b"", "empty, 0 bytes"),
    "a page named .mp4": (lambda: b"<!doctype html><script>alert(1)</script>", "This is no clip that can be read."),
    "a program": (lambda: b"MZ\x90\0" + bytes(999), "This is no clip that can be read."),
    "a picture": (lambda: b"\xff\xd8\xff\xe0" + bytes(999), "This is no clip that can be read."),
    "a film cut short": (lambda: made.mp4()[:150], "breaks off in the middle"),
    "a live film": (lambda: made.webm(None), "does not say how long it is"),
    "an hour": (lambda: made.mp4(3600), "3600.0 s. A clip may last 30 s."),
    "a place that stays": (lambda: made.mp4(form=b"gpmd"), "carries a place"),
    "26 MB": (lambda: made.mp4() + bytes(26_000_000), "26.0 MB. A clip may have 25 MB."),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_it_is_refused_with_a_sentence_and_nothing_is_kept(name: str, settings: object) -> None:
    make, sentence = HOSTILE[name]
    with pytest.raises(actions.Refused) as refused:
        actions.take_clip(make())
    assert sentence in refused.value.sentence
    assert not Clip.objects.exists()
    assert not Path(settings.FILES_ROOT).exists()  # type: ignore[attr-defined]


@pytest.mark.parametrize("who", ["as_owner", "as_mechanic", "as_office"])
def test_people_of_the_business_play_it(who: str, clip: Clip, request: pytest.FixtureRequest) -> None:
    answer = request.getfixturevalue(who).get(address(clip.uid))
    assert (answer.status_code, answer["Content-Type"], answer.content) == (200, "audio/wav", read(clip.blob_id))
    assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Disposition"] == f'inline; filename="{clip.uid}.wav"'


def test_the_bookkeeper_and_a_stranger_do_not(clip: Clip, as_bookkeeper: Client) -> None:
    assert as_bookkeeper.get(address(clip.uid)).status_code == 403
    assert Client().get(address(clip.uid))["Location"].startswith("/accounts/login/")


@pytest.mark.parametrize(
    ("asked", "status", "told"),
    [
        ("bytes=0-1", 206, "bytes 0-1/{size}"),
        ("bytes=10-", 206, "bytes 10-{last}/{size}"),
        ("bytes=0-99999999", 206, "bytes 0-{last}/{size}"),
        ("bytes=99999999-", 416, "bytes */{size}"),
        ("bytes=5-4", 416, "bytes */{size}"),
        ("bytes=-5", 200, ""),
        ("bytes=0-1,5-6", 200, ""),
        ("lines=1-2", 200, ""),
    ],
)
def test_a_part_is_given_to_whoever_asks_for_one(asked: str, status: int, told: str, clip: Clip, as_mechanic: Client) -> None:
    """RFC 9110, 14.2: a range that is not understood gives the whole."""
    answer = as_mechanic.get(address(clip.uid), headers={"Range": asked})
    size = clip.blob.size
    assert (answer.status_code, answer.get("Content-Range", "")) == (status, told.format(size=size, last=size - 1))
    whole = read(clip.blob_id)
    if status == 206:
        first, last = map(int, answer["Content-Range"].removeprefix("bytes ").split("/")[0].split("-"))
        assert answer.content == whole[first : last + 1]
        assert int(answer["Content-Length"]) == len(answer.content)


def test_an_unknown_clip_is_not_there(as_mechanic: Client) -> None:
    assert as_mechanic.get(address(uuid.uuid4())).status_code == 404
