"""photos: what a good picture becomes. Hostile ones: test_refused.py."""

import datetime as dt
import re
import subprocess
import sys
import uuid
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from tests.photos import pictures as made
from workshop.files.models import Blob
from workshop.files.queries import problems
from workshop.photos import actions, queries
from workshop.photos.models import Photo

pytestmark = pytest.mark.django_db
ZONE = dt.timedelta(hours=1)  # Europe/Vienna in November, settings.TIME_ZONE of the tests
TAKEN = dt.datetime(2026, 11, 20, 10, 31, 7, tzinfo=dt.timezone(ZONE))


@pytest.fixture(autouse=True)
def _at_eight(held_clock: dt.datetime) -> None:
    """Wednesday 25 November 2026."""


def shown(picture: actions.Picture) -> Image.Image:
    return Image.open(BytesIO(picture.full))


def near(image: Image.Image, place: tuple[int, int], colour: tuple[int, int, int], by: int = 6) -> bool:
    return all(abs(a - b) <= by for a, b in zip(image.convert("RGB").getpixel(place), colour, strict=True))


def segments(data: bytes) -> list[tuple[int, bytes]]:
    """The marker segments of a JPEG up to the first scan, read by hand (ISO/IEC 10918-1, annex B)."""
    found, at = [], 2
    while data[at + 1] != 0xDA:
        size = int.from_bytes(data[at + 2 : at + 4])
        found.append((data[at + 1], data[at + 4 : at + 2 + size]))
        at += 2 + size
    return found


def test_a_picture_is_kept_in_two_sizes() -> None:
    photo = actions.take(made.saved(made.card(4000, 3000)))
    full, small = (Image.open(BytesIO(queries.bytes_of(photo, size))) for size in queries.SIZES)
    assert (full.size, small.size, full.format, small.format) == ((1600, 1200), (320, 240), "JPEG", "JPEG")
    assert (photo.width, photo.height) == (1600, 1200)
    assert list(problems()) == []


def test_a_small_picture_is_not_blown_up() -> None:
    assert shown(actions.develop(made.saved(made.card(200, 150)))).size == (200, 150)


@pytest.mark.parametrize("size", [(65_535, 1), (1, 65_535)])
def test_a_line_of_65535_pixels_is_a_picture(size: tuple[int, int]) -> None:
    """65,535 is the most a JPEG header can say (ISO/IEC 10918-1); libjpeg writes 65,500 at most."""
    assert max(shown(actions.develop(made.saved(Image.new("L", size, 80), "PNG"))).size) == 1600


@pytest.mark.parametrize("data", [made.claiming(900, 600), made.png(900, 600, rows=9)], ids=["jpeg", "png"])
def test_a_picture_that_ends_properly_but_too_early_is_filled_up(data: bytes) -> None:
    """libjpeg and Pillow's PNG reader fill the rest with one tone and say nothing: seen on the screen, never a fault."""
    assert shown(actions.develop(data)).size == (900, 600)


CORNERS = {1: (20, 20), 2: (620, 20), 3: (620, 460), 4: (20, 460), 5: (20, 20), 6: (460, 20), 7: (460, 620), 8: (20, 620)}


@pytest.mark.parametrize("orientation", range(1, 9))
def test_it_stands_upright(orientation: int) -> None:
    """The white corner of each of the eight orientations, by the table of CIPA DC-008 (row 0 and column 0 of the picture)."""
    image = shown(actions.develop(made.saved(made.card(), exif=made.notes(orientation), quality=95)))
    assert image.size == ((640, 480) if orientation < 5 else (480, 640))
    assert near(image, CORNERS[orientation], made.WHITE)
    others = set(CORNERS.values()) - {CORNERS[orientation]}
    inside = [place for place in others if place[0] < image.width and place[1] < image.height]
    assert not any(near(image, place, made.WHITE, 40) for place in inside)


def test_a_heic_is_read_and_turned_once() -> None:
    """Turned by its own box (irot); the Exif orientation beside it must not turn it again."""
    plain, turned = (actions.develop((made.DATA / name).read_bytes()) for name in ("plain.heic", "turned.heic"))
    assert near(shown(plain), (20, 20), made.WHITE)
    assert (turned.width, turned.height) == (480, 640)
    assert near(shown(turned), (460, 20), made.WHITE)
    assert turned.taken_at == dt.datetime(2026, 11, 20, 0, 31, 7, tzinfo=dt.UTC)


@pytest.mark.parametrize("data", [made.telling(), made.commented(), (made.DATA / "turned.heic").read_bytes()], ids=["jpeg", "png", "heic"])
def test_place_and_every_other_note_are_gone(data: bytes) -> None:
    picture = actions.develop(data)
    for kept in (picture.full, picture.small):
        image = Image.open(BytesIO(kept))
        assert (dict(image.getexif()), image.info.get("icc_profile"), image.info.get("comment")) == ({}, None, None)
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "progressive", "progression"}
        marks = {mark for mark, _ in segments(kept)}
        assert marks <= {0xE0, 0xDB, 0xC2, 0xC4}, "only JFIF, tables and the frame: no APP1 (Exif, XMP), APP2 (ICC), APP13 (IPTC), COM"
        assert not re.search(rb"Exif|GPS|adobe|xmp|8BIM|ICC_|VELLMARK|YARD|SERIAL|Invented", kept)


def test_the_file_ends_where_the_picture_ends() -> None:
    """What hung behind the picture (an archive, a page, a script) does not come along."""
    picture = actions.develop(made.saved(made.card()) + b"PK\x03\x04<script>alert(1)</script>")
    assert picture.full.endswith(b"\xff\xd9")
    assert b"script" not in picture.full


def test_display_p3_becomes_srgb() -> None:
    """The red of sRGB is color(display-p3 0.9176 0.2003 0.1386) (CSS Color 4, conversion matrices), in codes 234 51 35."""
    wide = made.saved(Image.new("RGB", (64, 64), (234, 51, 35)), quality=100, subsampling=0, icc_profile=made.display_p3())
    assert near(shown(actions.develop(wide)), (30, 30), (255, 0, 0), 5)


def test_a_profile_that_is_none_changes_nothing() -> None:
    odd = made.saved(Image.new("RGB", (64, 64), made.BLUE), quality=95, icc_profile=b"not a profile")
    assert near(shown(actions.develop(odd)), (30, 30), made.BLUE)


def test_what_is_clear_turns_white() -> None:
    clear = Image.new("RGBA", (64, 64), (0, 0, 0, 0))
    assert near(shown(actions.develop(made.saved(clear, "PNG"))), (30, 30), made.WHITE, 1)


@pytest.mark.parametrize(
    ("mode", "kind"),
    [
        ("L", "JPEG"),
        ("CMYK", "JPEG"),
        ("P", "PNG"),
        ("1", "PNG"),
        ("LA", "PNG"),
        ("RGBA", "PNG"),
        ("I;16", "PNG"),
        ("RGB", "WEBP"),
        ("RGB", "MPO"),
    ],
)
def test_every_way_of_writing_colour_is_read(mode: str, kind: str) -> None:
    image = made.card(mode="L").convert("I").point(lambda grey: grey * 257).convert("I;16") if mode == "I;16" else made.card(mode=mode)
    full = shown(actions.develop(made.saved(image, kind)))
    assert (full.mode, full.size) == ("RGB", (640, 480))
    assert near(full, (20, 20), made.WHITE, 12)
    assert not near(full, (620, 460), made.WHITE, 60) or mode == "1"


def test_the_time_of_capture_is_kept() -> None:
    assert actions.take(made.saved(made.card(), exif=made.notes())).taken_at == TAKEN


def test_the_cameras_own_offset_counts() -> None:
    """OffsetTimeOriginal, CIPA DC-008 since version 2.31."""
    picture = actions.develop(made.saved(made.card(), exif=made.notes(offset="+10:00")))
    assert picture.taken_at == dt.datetime(2026, 11, 20, 0, 31, 7, tzinfo=dt.UTC)


def test_an_offset_that_is_none_is_passed_over() -> None:
    assert actions.capture_moment("2026:11:20 10:31:07", "+99:99") == TAKEN


@pytest.mark.parametrize(
    "taken",
    [
        "",
        "0000:00:00 00:00:00",
        "1970:01:01 00:00:00",
        "2031:01:01 08:00:00",
        "yesterday",
        "    :  :     :  :  ",
        "2026:11:20 10:31:07" * 9,
    ],
)
def test_a_time_that_cannot_be_is_no_time(taken: str) -> None:
    assert actions.capture_moment(taken, "") is None


def test_the_senders_time_serves_where_the_picture_has_none(held_clock: dt.datetime) -> None:
    said = held_clock - dt.timedelta(minutes=9)
    bare, telling = made.saved(made.card(), quality=80), made.saved(made.card(), exif=made.notes())
    assert actions.take(bare, taken_at=said).taken_at == said
    assert actions.take(telling, taken_at=said).taken_at == TAKEN
    assert actions.take(bare).taken_at is None
    with pytest.raises(ValueError, match="zone"):
        actions.take(bare, taken_at=said.replace(tzinfo=None))


def test_the_same_picture_twice_is_the_same_bytes() -> None:
    data = made.telling()
    first, second = actions.take(data), actions.take(data)
    assert first.uid != second.uid
    assert (first.full, first.small) == (second.full, second.small)
    assert Blob.objects.count() == 2


def test_the_same_picture_under_the_same_number_is_one_photo() -> None:
    uid, data = uuid.uuid4(), made.saved(made.card())
    assert actions.take(data, uid=uid) == actions.take(data, uid=uid)
    assert Photo.objects.count() == 1


def test_another_picture_under_the_same_number_is_refused() -> None:
    uid = uuid.uuid4()
    actions.take(made.saved(made.card()), uid=uid)
    with pytest.raises(actions.Refused, match="already has this picture's number"):
        actions.take(made.saved(made.card().rotate(180)), uid=uid)
    assert Blob.objects.count() == 2


def test_fifty_megapixels_of_jpeg_stay_small_in_memory(tmp_path: Path) -> None:
    """Draft mode (issue 2): at most 400 MB. A process between keeps the size of this one out of the figure."""
    large = tmp_path / "large.jpg"
    Image.radial_gradient("L").resize((8000, 6250)).convert("RGB").save(large, quality=80)
    limits = map(str, (1600, 320, actions.MOST_PIXELS, actions.MEMORY, actions.CPU_SECONDS))
    between = (
        "import resource, subprocess, sys\n"
        "out = subprocess.run(sys.argv[2:], stdin=open(sys.argv[1], 'rb'), capture_output=True, check=True).stdout\n"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, b'\"width\": 1600' in out)"
    )
    command = [sys.executable, "-c", between, str(large), sys.executable, "-I", str(actions.DARKROOM), *limits]
    peak_kib, whole = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    assert whole == "True"
    assert int(peak_kib) <= 400 * 1024
