"""photos: what is not taken, and the sentence that says so. Nothing of it reaches disk or database."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.photos import pictures as made
from workshop.files.models import Blob
from workshop.photos import actions
from workshop.photos.models import Photo

pytestmark = pytest.mark.django_db

SVG = b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"><rect width="9" height="9"/></svg>'
GIF = b"GIF89a\x01\x00\x01\x00\x80\x00\x00\x00\x00\x00\xff\xff\xff,\x00\x00\x00\x00\x01\x00\x01\x00\x00\x02\x02D\x01\x00;"


def cut(data: bytes) -> bytes:
    return data[: len(data) * 6 // 10]


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "nothing": (lambda: b"", "empty, 0 bytes"),
    "an SVG named .jpg": (lambda: SVG, "not a picture that can be read"),
    "text named .heic": (lambda: b"ftypheic is only a word here\n" * 40, "not a picture that can be read"),
    "a page": (lambda: b"<!doctype html><script>alert(1)</script>", "not a picture that can be read"),
    "a GIF": (lambda: GIF, "not a picture that can be read"),
    "a TIFF": (lambda: made.saved(made.card(), "TIFF"), "not a picture that can be read"),
    "an AVIF": (lambda: b"\0\0\0\x1cftypavif\0\0\0\0avifmif1miaf" + bytes(200), "not a picture that can be read"),
    "an archive with a JPEG inside": (lambda: b"PK\x03\x04" + made.saved(made.card()), "not a picture that can be read"),
    "300 megapixels in 40 kB": (lambda: made.png(20_000, 15_000), "300 megapixels. A picture may have 50"),
    "61 megapixels": (lambda: made.png(8_000, 7_625, rows=0), "61 megapixels. A picture may have 50"),
    "a header of 65,535 by 65,535": (lambda: made.claiming(65_535, 65_535), "4295 megapixels"),
    "a JPEG cut short": (lambda: cut(made.saved(made.card())), "breaks off in the middle"),
    "a PNG cut short": (lambda: cut(made.saved(made.card(), "PNG")), "breaks off in the middle"),
    "a WebP cut short": (lambda: cut(made.saved(made.card(), "WEBP")), "breaks off in the middle"),
    "a HEIC cut short": (lambda: cut((made.DATA / "plain.heic").read_bytes()), "breaks off in the middle"),
    "only the first bytes of a JPEG": (lambda: b"\xff\xd8\xff\xe0", "breaks off in the middle"),
    "only the first box of a HEIC": (lambda: b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "breaks off in the middle"),
    "a moving PNG": (lambda: made.moving("PNG"), "This picture moves"),
    "a moving WebP": (lambda: made.moving("WEBP"), "This picture moves"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_it_is_refused_with_a_sentence(name: str, settings: object) -> None:
    make, sentence = HOSTILE[name]
    with pytest.raises(actions.Refused) as refused:
        actions.take(make())
    assert sentence in refused.value.sentence
    assert refused.value.sentence.rsplit(". ", 1)[1].startswith(("Take it again", "Send it again")), "what to do comes last"
    assert not Blob.objects.exists()
    assert not Photo.objects.exists()
    assert not Path(settings.FILES_ROOT).exists()  # type: ignore[attr-defined]


def test_more_than_25_megabytes_never_reach_a_decoder(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(actions.subprocess, "run", lambda *args, **kwargs: pytest.fail("a decoder ran"))
    with pytest.raises(actions.Refused, match=r"27\.3 MB\. A picture may have 25 MB"):
        actions.develop(bytes(27_300_000))


def test_25_megabytes_are_read() -> None:
    picture = made.saved(made.card())
    assert actions.develop(picture + bytes(25_000_000 - len(picture))).width == 640


def test_a_picture_that_wants_too_much_memory_is_put_aside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(actions, "MEMORY", 120 * 1024**2)
    with pytest.raises(actions.Refused, match="more work than a picture may"):
        actions.develop(made.png(5_000, 4_000, depth=8, colour=2))


def darkroom(tmp_path: Path, deed: str) -> Path:
    """A darkroom whose decoder was taken over and does this deed under the real limits."""
    script = tmp_path / "develop.py"
    start = f"import sys; sys.path.insert(0, {str(actions.DARKROOM.parent)!r})\nimport develop, os, socket\n"
    script.write_text(f"{start}def deed(*_):\n    {deed}\ndevelop.develop = deed\ndevelop.main(*map(int, sys.argv[1:6]))\n")
    return script


@pytest.mark.parametrize(
    "deed",
    [
        "while True: pass",
        "bytearray(2 * 1024**3)",
        "os.kill(os.getpid(), 11)",
        "os._exit(3)",
        "sys.stdout.buffer.write(b'no answer'); os._exit(0)",
    ],
    ids=["runs for ever", "takes all memory", "crashes", "gives up", "answers nonsense"],
)
def test_a_child_that_goes_wrong_is_a_sentence_not_a_fault(deed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(actions, "CPU_SECONDS", 1)
    monkeypatch.setattr(actions, "DARKROOM", darkroom(tmp_path, deed))
    with pytest.raises(actions.Refused, match="more work than a picture may"):
        actions.develop(b"a picture")


def test_a_child_that_waits_for_ever_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(actions, "WALL_SECONDS", 1)
    monkeypatch.setattr(actions, "DARKROOM", darkroom(tmp_path, "import time; time.sleep(60)"))
    with pytest.raises(actions.Refused, match="more work than a picture may"):
        actions.develop(b"a picture")


@pytest.mark.parametrize("deed", ["open('/etc/hostname')", "open('/tmp/left-behind', 'w')", "socket.socket()", "os.pipe()"])
def test_a_decoder_taken_over_can_open_nothing(deed: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The deed fails with EMFILE: the child is told it may have the three streams it has."""
    tried = f"\n    try:\n        {deed}\n    except OSError as error:\n        raise develop.Refused('large', megapixels=error.errno)"
    monkeypatch.setattr(actions, "DARKROOM", darkroom(tmp_path, "pass" + tried))
    monkeypatch.setattr(actions, "REFUSALS", {**actions.REFUSALS, "large": "{megapixels}"})
    with pytest.raises(actions.Refused, match=r"^24$"):
        actions.develop(b"a picture")


def test_a_decoder_taken_over_finds_no_key(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HARDSTAND_SECRET_KEY", "k" * 60)
    deed = "raise develop.Refused('large', megapixels=sum('HARDSTAND' in name or 'DATABASE' in name for name in os.environ))"
    monkeypatch.setattr(actions, "DARKROOM", darkroom(tmp_path, deed))
    with pytest.raises(actions.Refused, match=r"^0 megapixels"):
        actions.develop(b"a picture")


def test_what_comes_out_was_never_what_went_in() -> None:
    """Uploaded bytes are never served."""
    data = made.telling()
    picture = actions.develop(data)
    assert data not in (picture.full, picture.small)
