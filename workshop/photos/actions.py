"""Take a picture in. What is stored is what is shown and what counts as evidence: upright, clean, in two sizes."""

import json
import subprocess
import sys
import threading
import uuid as uuids
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from django.db import transaction
from django.http import HttpRequest
from django.utils import timezone

from workshop import clock
from workshop.calc import clips
from workshop.files.actions import store
from workshop.photos import queries
from workshop.photos.models import Clip, Photo

EVENTS: dict[str, str] = {}  # a picture is recorded by the verb that uses it

MOST_BYTES = 25_000_000
MOST_SECONDS = 30
MOST_PIXELS = 50_000_000
LONG_SIDE, SMALL_SIDE = 1600, 320  # px
MEMORY = 1024**3  # bytes of address space for the child; 50 megapixels use 100 MB as plain JPEG, 800 as WebP
CPU_SECONDS, WALL_SECONDS = 10, 30
EARLIEST_YEAR = 1990  # a camera whose clock was never set says 1970 or 1980
DARKROOM = Path(__file__).with_name("develop.py")
MEDIA_TYPE = "image/jpeg"
CAMERA_FORMAT = "%Y:%m:%d %H:%M:%S"  # CIPA DC-008 (Exif)

REFUSALS = {
    "empty": "The picture arrived empty, 0 bytes. Expected JPEG, PNG, WebP or HEIC. Take it again with the camera.",
    "heavy_file": "The file has {megabytes:.1f} MB. A picture may have 25 MB. Take it again with the camera's usual setting.",
    "unreadable": "This is not a picture that can be read. Expected JPEG, PNG, WebP or HEIC. Take it again with the camera.",
    "large": "{megapixels:.0f} megapixels. A picture may have 50. Take it again with the camera's usual setting.",
    "broken": "The picture breaks off in the middle: it was cut short on the way or is damaged. Send it again.",
    "moving": "This picture moves. Expected a still one. Take it again with the camera.",
    "heavy": "This picture asks for more work than a picture may, so it was put aside. Take it again with the camera's usual setting.",
    "clip_empty": "The clip arrived empty, 0 bytes. Expected a film or sound of at most 30 s. Record it again.",
    "clip_heavy": "The file has {megabytes:.1f} MB. A clip may have 25 MB. Record it shorter, or with a smaller picture.",
    "clip_unknown": "This is no clip that can be read. Expected MP4, MOV, WebM, M4A, MP3, Ogg or WAV. Record it with the phone.",
    "clip_broken": "The clip breaks off in the middle: it was cut short on the way or is damaged. Send it again.",
    "clip_length": "This clip does not say how long it is, so it was not kept. Record it with the phone’s own camera.",
    "clip_long": "{seconds:.1f} s. A clip may last 30 s. Record the part that shows it.",
    "clip_place": "This clip carries a place that cannot be taken out of it. Switch the place off in the camera and record it again.",
    "uid_taken": "Another picture already has this picture's number, so this one was not kept. Take it again with the camera.",
}

_darkroom = threading.BoundedSemaphore(2)  # two pictures at once in one process, so that memory stays bounded


class Refused(Exception):
    """Why a picture or a clip was not taken, as a sentence for the person who sent it; `reason` is its key in REFUSALS."""

    def __init__(self, reason: str, **figures: float) -> None:
        self.reason = reason
        self.sentence = REFUSALS[reason].format(**figures)
        super().__init__(self.sentence)


@dataclass(frozen=True)
class Picture:
    """A developed picture that is not stored yet. Pixels, and the moment the camera wrote, aware, if it wrote a sensible one."""

    full: bytes
    small: bytes
    width: int
    height: int
    taken_at: datetime | None


def take(data: bytes, *, uid: uuids.UUID | None = None, taken_at: datetime | None = None) -> Photo:
    """Develops and stores a picture; records nothing. Raises Refused.

    `taken_at` (aware) is used where the picture itself names no time. The same uid with the same picture returns the photo that is there.
    Inside a transaction on SQLite others wait while it develops (0.3 s): call `develop` before, `write_photo` inside, where it matters.
    """
    return write_photo(develop(data), uid=uid, taken_at=taken_at)


def develop(data: bytes) -> Picture:
    """Upright, sRGB, on white, without metadata, at 1600 and 320 px on the long side. Touches no database. Raises Refused."""
    if not data:
        raise Refused("empty")
    if len(data) > MOST_BYTES:
        raise Refused("heavy_file", megabytes=len(data) / 1e6)
    told, rest = _child(data)
    if "refused" in told:
        raise Refused(told.pop("refused"), **told)
    full, small = rest[: told["full"]], rest[told["full"] :]
    if len(small) != told["small"]:
        raise Refused("heavy")
    return Picture(full, small, told["width"], told["height"], capture_moment(told["taken"], told["offset"]))


def _child(data: bytes) -> tuple[dict[str, Any], bytes]:
    """What the darkroom answers. It gets the bytes and an empty environment: no key, no address of the database."""
    limits = (LONG_SIDE, SMALL_SIDE, MOST_PIXELS, MEMORY, CPU_SECONDS)
    command = [sys.executable, "-I", str(DARKROOM), *map(str, limits)]
    environment = {"MALLOC_ARENA_MAX": "1"}  # else each decoder thread reserves 64 MB of the limit
    try:
        with _darkroom:
            answer = subprocess.run(  # noqa: S603 - our own script
                command, input=data, capture_output=True, timeout=WALL_SECONDS, env=environment, cwd="/", check=True
            ).stdout
        head = 4 + int.from_bytes(answer[:4])
        return json.loads(answer[4:head]), answer[head:]
    except (subprocess.TimeoutExpired, subprocess.CalledProcessError, ValueError) as error:
        raise Refused("heavy") from error


def capture_moment(taken: str, offset: str) -> datetime | None:
    """When the camera says it took a picture, aware: by its own offset, else where the business is.

    None for what cannot be: before 1990, later than a day from now, no date at all. Text as in Exif: 2026:11:20 10:31:07, +10:00.
    """
    said, zone = taken.strip(), offset.strip()
    try:
        moment = datetime.strptime(said + zone, CAMERA_FORMAT + ("%z" if zone else ""))  # noqa: DTZ007 - made aware below
    except ValueError:
        return capture_moment(taken, "") if zone else None
    if timezone.is_naive(moment):
        moment = timezone.make_aware(moment)
    return moment if moment.year >= EARLIEST_YEAR and moment < clock.now() + timedelta(days=1) else None


@transaction.atomic
def write_photo(picture: Picture, *, uid: uuids.UUID | None = None, taken_at: datetime | None = None) -> Photo:
    """Stores a developed picture for a higher verb; records nothing. ValueError for a `taken_at` without a zone; raises Refused."""
    if taken_at is not None and timezone.is_naive(taken_at):
        raise ValueError("taken_at has no zone.")
    full, small = store(picture.full, MEDIA_TYPE), store(picture.small, MEDIA_TYPE)
    photo, fresh = Photo.objects.get_or_create(
        uid=uid or uuids.uuid4(),
        defaults={
            "full": full,
            "small": small,
            "width": picture.width,
            "height": picture.height,
            "taken_at": picture.taken_at or taken_at,
            "received_at": clock.now(),
        },
    )
    if not fresh and photo.full_id != full.pk:
        raise Refused("uid_taken")
    return photo


def take_clip(data: bytes) -> Clip:
    """Stores a film or sound of at most 30 s with its notes blanked out; records nothing. Raises Refused."""
    return write_clip(read_clip(data))


def read_clip(data: bytes) -> clips.Clip:
    """A film or sound of at most 30 s with its notes blanked out, not stored yet. Touches no database. Raises Refused."""
    if not data:
        raise Refused("clip_empty")
    if len(data) > MOST_BYTES:
        raise Refused("clip_heavy", megabytes=len(data) / 1e6)
    try:
        clip = clips.read(data)
    except clips.Refused as refused:
        raise Refused(f"clip_{refused.reason}") from refused
    if clip.seconds > MOST_SECONDS:
        raise Refused("clip_long", seconds=float(clip.seconds))
    return clip


@transaction.atomic
def write_clip(clip: clips.Clip) -> Clip:
    """Stores a clip that was read, for a higher verb; records nothing. The same bytes are the same clip, however many send them at once."""
    blob = store(clip.data, clip.media_type)
    what = {"seconds": clip.seconds, "received_at": clock.now()}
    return Clip.objects.get_or_create(blob=blob, media_type=clip.media_type, defaults=what)[0]


def take_sent(request: HttpRequest, most: int, else_: str = "Choose which to keep.") -> tuple[list[Photo], list[str]]:
    """The pictures that came with a form: those taken before (`kept`) and those sent now (`camera`, `gallery`), at most so many, and a
    sentence for each that was not taken; `else_` says what to do with one too many.

    A view develops them before any transaction, so that nobody waits for a picture. Records nothing."""
    kept, wrong = queries.by_uids(request.POST.getlist("kept")[:most]), []
    for file in request.FILES.getlist("camera") + request.FILES.getlist("gallery"):
        if len(kept) >= most:
            wrong.append(f"{str(file.name)[:60]}: more than {most} picture{'s' if most > 1 else ''}. {else_}")
            continue
        try:
            kept.append(take(file.read()))
        except Refused as refused:
            wrong.append(f"{str(file.name)[:60]}: {refused.sentence}")
    return kept, wrong
