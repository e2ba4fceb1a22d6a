"""Clips: kind and length are read from the content, notes are blanked, and what cannot be read is refused, never guessed."""

import struct
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.calc import clips_made as made
from workshop.calc import clips

GOOD = {
    "MP4": (made.mp4(), "video/mp4", "12.0"),
    "QuickTime": (made.mp4(brand=b"qt  "), "video/quicktime", "12.0"),
    "M4A": (made.mp4(brand=b"M4A ", kind=b"soun"), "audio/mp4", "12.0"),
    "WebM": (made.webm(), "video/webm", "9.5"),
    "WebM, sound": (made.webm(kind=2), "audio/webm", "9.5"),
    "Matroska": (made.webm(doctype=b"matroska"), "video/x-matroska", "9.5"),
    "WAV": (made.wav(), "audio/wav", "3.0"),
    "MP3": (made.mp3(), "audio/mpeg", "2.7"),  # 100 times 1,152 samples at 44,100 Hz are 2.612 s
    "MP3 with notes": (made.mp3(before=b"ID3\x04\0\0\0\0\0\x05GEOB!"), "audio/mpeg", "2.7"),
    "Opus": (made.opus(), "audio/ogg", "5.0"),
    "Vorbis": (made.vorbis(), "audio/ogg", "5.0"),
}


@pytest.mark.parametrize("name", GOOD)
def test_kind_and_length_are_read(name: str) -> None:
    data, media_type, seconds = GOOD[name]
    clip = clips.read(data)
    assert (clip.media_type, clip.seconds) == (media_type, Decimal(seconds))
    assert len(clip.data) == len(data), "nothing moves, so every offset stays true"


@pytest.mark.parametrize(
    "data",
    [
        made.mp4(notes=made.told_place()),
        made.mp4(extra=made.told_place() + made.box(b"uuid", made.PLACE)),
        made.webm(tags=made.PLACE),
        made.wav(notes=made.PLACE),
        made.mp3(before=b"ID3\x04\0\0\0\0\0" + bytes([len(made.PLACE)]) + made.PLACE),
        made.mp3(behind=made.PLACE),
        made.mp3(behind=b"TAG" + made.PLACE.ljust(125)),
    ],
    ids=["mp4 in moov", "mp4 behind", "webm tags", "wav list", "mp3 before", "mp3 behind", "mp3 old"],
)
def test_the_place_is_blanked_and_the_clip_reads_as_before(data: bytes) -> None:
    clip = clips.read(data)
    assert made.PLACE in data
    assert made.PLACE not in clip.data
    assert b"location" not in clip.data
    assert clips.read(clip.data) == clip


BAD = {
    "nothing": (b"", "unknown"),
    "text": (b"ftyp is only a word", "unknown"),
    "a page": (b"<!doctype html><script>alert(1)</script>", "unknown"),
    "a JPEG": (b"\xff\xd8\xff\xe0" + bytes(99), "unknown"),
    "an archive": (b"PK\x03\x04" + made.mp4(), "unknown"),
    "a HEIC": (made.box(b"ftyp", b"heic", bytes(4)) + made.box(b"mdat", b"x"), "unknown"),
    "an AVI": (b"RIFF\x10\0\0\0AVI LIST", "unknown"),
    "Theora": (made.page(0, b"\x80theora", 2), "unknown"),
    "another document in EBML": (made.webm(doctype=b"other"), "unknown"),
    "a film without film or sound": (made.mp4(kind=b"hint"), "unknown"),
    "an MP4 cut short": (made.mp4()[:200], "broken"),
    "a box longer than the file": (struct.pack(">I4s", 2**31, b"ftyp"), "broken"),
    "a box shorter than its own head": (made.mp4() + b"\0\0\0\x03free", "broken"),
    "a WebM cut short": (made.webm()[:-3], "broken"),
    "a WAV cut short": (made.wav()[:-3], "broken"),
    "an Ogg cut short": (made.opus()[:-3], "broken"),
    "an Ogg with something between": (made.opus() + b"<script>", "broken"),
    "notes longer than the MP3": (made.mp3(before=b"ID3\x04\0\0\x7f\x7f\x7f\x7f"), "broken"),
    "a length of nought": (made.mp4(0), "length"),
    "a film in fragments": (made.mp4(extra=made.box(b"moof", b"")), "length"),
    "a live WebM": (made.webm(None), "length"),
    "a WebM that never ends": (made.webm(float("inf")), "length"),
    "a WebM of no number": (made.webm(float("nan")), "length"),
    "one stream behind another": (made.opus() + made.opus(), "length"),
    "a track of places": (made.mp4(form=b"camm"), "place"),
    "notes of a place under a checksum": (made.opus(comment=b"GEO_LOCATION=" + made.PLACE), "place"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_read_is_refused_with_its_reason(name: str) -> None:
    data, reason = BAD[name]
    with pytest.raises(clips.Refused) as refused:
        clips.read(data)
    assert refused.value.reason == reason


def test_boxes_in_boxes_without_end_are_refused() -> None:
    deep = b""
    for _ in range(5000):
        deep = made.box(b"trak", deep)
    with pytest.raises(clips.Refused):
        clips.read(made.mp4(notes=deep))
    nested = b""
    for _ in range(2000):
        nested = made.element(0xAE, nested)
    with pytest.raises(clips.Refused):
        clips.read(made.element(0x1A45DFA3, made.element(0x4282, b"webm")) + made.element(0x18538067, nested))


def webm_of(inside: bytes) -> bytes:
    return made.element(0x1A45DFA3, made.element(0x4282, b"webm")) + made.element(0x18538067, inside)


MANY = 300_000
CROWDED = {
    "empty elements": lambda: webm_of(b"\xec\x80" * MANY),
    "empty elements behind": lambda: made.webm() + b"\xec\x80" * MANY,
    "empty elements in many tracks": lambda: webm_of(made.element(0xAE, b"\xec\x80" * 30_000) * 10),
    "empty boxes": lambda: made.mp4(extra=made.box(b"free") * MANY),
    "empty boxes within": lambda: made.mp4(notes=made.box(b"skip") * MANY),
    "empty boxes in many tracks": lambda: made.mp4(notes=made.box(b"trak", made.box(b"skip") * 30_000) * 10),
    "empty chunks": lambda: made.wav() + b"fact\0\0\0\0" * MANY,
    "empty pages": lambda: made.opus() + made.page(0, b"") * MANY,
}


@pytest.mark.parametrize("name", CROWDED)
def test_a_file_of_nothing_but_pieces_is_refused_before_it_keeps_the_machine_busy(name: str) -> None:
    """Counted, not timed: reading stops at the piece that is one too many, on whatever level it stands."""
    with pytest.raises(clips.Refused) as refused:
        clips.read(CROWDED[name]())
    assert refused.value.reason == "broken"


def test_as_many_pieces_as_a_clip_may_have_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(clips, "MOST_PIECES", 100)
    assert clips.read(made.mp4(extra=made.box(b"free") * 80)).seconds == 12
    assert clips.read(made.webm() + made.element(0xEC, b"") * 80).media_type == "video/webm"


def test_the_longer_of_two_lengths_counts() -> None:
    """The film's own head may lie: each track says how long it is too."""
    data = made.mp4(12).replace(struct.pack(">II", 600, 7200), struct.pack(">II", 600, 600))
    assert clips.read(data).seconds == 12


@given(st.sampled_from([data for data, *_ in GOOD.values()]), st.integers(0, 400), st.integers(0, 255), st.integers(0, 60))
def test_a_damaged_clip_is_read_or_refused_and_never_a_fault(data: bytes, at: int, byte: int, cut: int) -> None:
    hurt = bytearray(data)
    hurt[at % len(hurt)] = byte
    try:
        clip = clips.read(bytes(hurt[: len(hurt) - cut]))
    except clips.Refused as refused:
        assert refused.reason in {"unknown", "broken", "length", "place"}
    else:
        assert clip.seconds > 0
