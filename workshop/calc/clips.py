"""Short films and sounds: what kind, how long, and without the notes in which a camera writes the place. Nothing is decoded.

Kinds are told by content alone. Notes are overwritten in place, so that every offset in the file stays true and it plays as before."""

import re
import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

TENTH = Decimal("0.1")
DEEPEST = 8  # boxes within boxes; four are usual
MOST_PIECES = 100_000  # boxes, elements, chunks or pages of one file; a clip of 30 s has some hundred
PLACE = re.compile(rb"(?:location|gps|geo[-_ ]?(?:lat|lon|tag))[^=\0]{0,20}=", re.IGNORECASE)
FILM, SOUND = b"vide", b"soun"
NOTES = {b"udta", b"meta", b"uuid"}  # ©xyz and loci stand in udta, the place of newer phones in meta, XMP in uuid


class Refused(ValueError):
    """Why a clip is not one: "unknown" kind, "broken", "length" cannot be read, a "place" that cannot be taken out."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


class Sheet(bytearray):
    """The bytes of a file while it is read, and how many of its pieces were met, on all levels together."""

    pieces = 0

    def one_more(self) -> None:
        """Counts a piece. Raises Refused for more than a clip can have: a file made of empty pieces keeps the machine busy."""
        self.pieces += 1
        if self.pieces > MOST_PIECES:
            raise Refused("broken")


@dataclass(frozen=True)
class Clip:
    """A clip whose notes are gone; seconds are rounded up to a tenth."""

    media_type: str
    seconds: Decimal
    data: bytes


def read(data: bytes) -> Clip:
    """The clip: MP4, QuickTime, M4A, WebM, Matroska, MP3, Ogg (Opus, Vorbis) or WAV. Raises Refused."""
    sheet = Sheet(data)
    try:
        media_type, seconds = _kind(data)(sheet)
    except (struct.error, IndexError, OverflowError) as error:
        raise Refused("broken") from error
    if not 0 < seconds < 10**6:
        raise Refused("length")
    return Clip(media_type, seconds.quantize(TENTH, ROUND_CEILING), bytes(sheet))


def _kind(data: bytes) -> Callable[[Sheet], tuple[str, Decimal]]:
    if data[4:8] == b"ftyp":
        return _boxes_film
    if data[:4] == b"\x1a\x45\xdf\xa3":
        return _ebml_film
    if data[:4] == b"RIFF" and data[8:12] == b"WAVE":
        return _wav
    if data[:4] == b"OggS":
        return _ogg
    first = _frame(data, 0)
    if data[:3] == b"ID3" or (first and _frame(data, first[0])):
        return _mp3
    raise Refused("unknown")


# ISO base media (ISO/IEC 14496-12): boxes of length, name, content.
def _boxes(data: Sheet, at: int, end: int) -> Iterator[tuple[bytes, int, int, int]]:
    """Each box as name, where it begins, where its content begins, where it ends. Raises Refused where a length cannot be."""
    while at + 8 <= end:
        data.one_more()
        size, name, head = int.from_bytes(data[at : at + 4]), bytes(data[at + 4 : at + 8]), 8
        if size == 1:
            size, head = int.from_bytes(data[at + 8 : at + 16]), 16
        size = size or end - at
        if size < head or at + size > end:
            raise Refused("broken")
        yield name, at, at + head, at + size
        at += size


def _blank(data: bytearray, at: int, body: int, end: int) -> None:
    data[at + 4 : at + 8] = b"free"
    data[body:end] = bytes(end - body)


def _lasts(data: bytearray, body: int) -> Decimal:
    """Seconds by mvhd or mdhd; 0 when it says none."""
    at, form = (body + 20, ">IQ") if data[body] == 1 else (body + 12, ">II")
    scale, length = map(int, struct.unpack_from(form, data, at))
    if not scale or length in {2**32 - 1, 2**64 - 1}:
        raise Refused("length")
    return Decimal(length) / scale


def _boxes_film(data: Sheet) -> tuple[str, Decimal]:
    brand, seconds = bytes(data[8:12]), [Decimal(0)]
    handlers: set[bytes] = set()
    for name, at, body, end in _boxes(data, 0, len(data)):
        if name in NOTES:
            _blank(data, at, body, end)
        elif name == b"moof":
            raise Refused("length")
        elif name == b"moov":
            _movie(data, body, end, seconds, handlers)
    if not handlers & {FILM, SOUND}:
        raise Refused("unknown")
    film = "video/quicktime" if brand == b"qt  " else "video/mp4"
    return film if FILM in handlers else "audio/mp4", max(seconds)


def _movie(data: Sheet, start: int, stop: int, seconds: list[Decimal], handlers: set[bytes], depth: int = 0) -> None:  # noqa: PLR0917
    if depth > DEEPEST:
        raise Refused("broken")
    for name, at, body, end in _boxes(data, start, stop):
        if name in NOTES:
            _blank(data, at, body, end)
        elif name in {b"cmov", b"mvex"}:
            raise Refused("length")
        elif name in {b"mvhd", b"mdhd"}:
            seconds.append(_lasts(data, body))
        elif name == b"hdlr":
            handlers.add(bytes(data[body + 8 : body + 12]))
        elif name == b"stsd":
            _refuse_place(data, body, end)
        elif name in {b"trak", b"mdia", b"minf", b"stbl"}:
            _movie(data, body, end, seconds, handlers, depth + 1)


def _refuse_place(data: bytearray, body: int, end: int) -> None:
    """A track of its own that may hold the place: its samples lie among film and sound and are not taken out."""
    form = bytes(data[body + 12 : body + 16])
    if form in {b"gpmd", b"camm", b"rtmd", b"mett", b"urim", b"metx"} or b"location" in data[body:end].lower():
        raise Refused("place")


# EBML and Matroska (RFC 8794, RFC 9559): identity, length, content.

SEGMENT, INFO, SCALE, DURATION, TRACKS, ENTRY, TYPE = 0x18538067, 0x1549A966, 0x2AD7B1, 0x4489, 0x1654AE6B, 0xAE, 0x83
TAGS, ATTACHMENTS, DOCTYPE, HEADER = 0x1254C367, 0x1941A469, 0x4282, 0x1A45DFA3


def _number(data: bytearray, at: int, *, keep: bool) -> tuple[int | None, int]:
    """A number of changing length and where it ends; None for the length that says: unknown."""
    first = data[at]
    width = 9 - first.bit_length()
    if width > 8:
        raise Refused("broken")
    number = int.from_bytes(data[at : at + width])
    if keep:
        return number, at + width
    bare = number & (1 << 7 * width) - 1
    return (None if bare == (1 << 7 * width) - 1 else bare), at + width


def _elements(data: Sheet, at: int, end: int) -> Iterator[tuple[int, int, int, int]]:
    """Each element as identity, where it begins, where its content begins, where it ends."""
    while at < end:
        data.one_more()
        start = at
        name, at = _number(data, at, keep=True)
        size, body = _number(data, at, keep=False)
        if size is None and name != SEGMENT:
            raise Refused("length")
        at = end if size is None else body + size
        if at > end:
            raise Refused("broken")
        yield name or 0, start, body, at


def _void(data: bytearray, at: int, end: int) -> None:
    """An element becomes a Void of the same length."""
    width = min(8, end - at - 1)
    left = end - at - 1 - width
    data[at:end] = b"\xec" + (left | 1 << 7 * width).to_bytes(width) + bytes(left)


def _ebml_film(data: Sheet) -> tuple[str, Decimal]:
    doctype, found = b"", {"scale": Decimal(1_000_000), "duration": Decimal(0)}
    kinds: set[int] = set()
    for name, _, body, end in _elements(data, 0, len(data)):
        if name == HEADER:
            doctype = next((bytes(data[b:e]).rstrip(b"\0") for n, _, b, e in _elements(data, body, end) if n == DOCTYPE), b"")
        elif name == SEGMENT:
            _segment(data, body, end, found, kinds)
    if doctype not in {b"webm", b"matroska"} or not kinds & {1, 2}:
        raise Refused("unknown")
    whose = "webm" if doctype == b"webm" else "x-matroska"
    return f"{'video' if 1 in kinds else 'audio'}/{whose}", found["duration"] * found["scale"] / 10**9


def _segment(data: Sheet, start: int, stop: int, found: dict[str, Decimal], kinds: set[int], depth: int = 0) -> None:  # noqa: PLR0917
    if depth > DEEPEST:
        raise Refused("broken")
    for name, at, body, end in _elements(data, start, stop):
        if name in {TAGS, ATTACHMENTS}:
            _void(data, at, end)
        elif name in {INFO, TRACKS, ENTRY}:
            _segment(data, body, end, found, kinds, depth + 1)
        elif name == TYPE:
            kinds.add(int.from_bytes(data[body : min(end, body + 8)]))
        elif name == SCALE:
            found["scale"] = Decimal(int.from_bytes(data[body : min(end, body + 8)]))
        elif name == DURATION:
            value = struct.unpack(">d" if end - body == 8 else ">f", data[body:end])[0]
            if not 0 < value < 10**12:
                raise Refused("length")
            found["duration"] = Decimal(str(value))


# WAV (RIFF), Ogg (RFC 3533, RFC 7845), MP3 (ISO/IEC 11172-3).
def _wav(data: Sheet) -> tuple[str, Decimal]:
    at, rate, length = 12, 0, 0
    while at + 8 <= len(data):
        data.one_more()
        name, size = bytes(data[at : at + 4]), int.from_bytes(data[at + 4 : at + 8], "little")
        end = at + 8 + size
        if end > len(data):
            raise Refused("broken")
        if name == b"fmt ":
            rate = int.from_bytes(data[at + 16 : at + 20], "little")  # bytes a second
        elif name == b"data":
            length += size
        elif name != b"fact":
            data[at : at + 4], data[at + 8 : end] = b"JUNK", bytes(size)
        at = end + size % 2
    return "audio/wav", Decimal(length) / rate if rate else Decimal(0)


def _ogg(data: Sheet) -> tuple[str, Decimal]:
    """One stream of Opus or Vorbis. Its notes are under a checksum, so one that tells a place is refused."""
    first, last, at, heads = b"", 0, 0, bytearray()
    while at < len(data):
        data.one_more()
        if data[at : at + 4] != b"OggS":
            raise Refused("broken")
        sizes = data[at + 27 : at + 27 + data[at + 26]]
        body = at + 27 + len(sizes)
        at, begins, granule = body + sum(sizes), data[at + 5] & 2, int.from_bytes(data[at + 6 : at + 14], "little", signed=True)
        if at > len(data):
            raise Refused("broken")
        if begins and first:
            raise Refused("length")
        first = first or bytes(data[body:at])
        last = max(last, granule)
        if granule <= 0:
            heads += data[body:at]
    if PLACE.search(heads):
        raise Refused("place")
    if first[:8] == b"OpusHead":
        return "audio/ogg", Decimal(last - int.from_bytes(first[10:12], "little")) / 48_000
    if first[:7] == b"\x01vorbis":
        rate = int.from_bytes(first[12:16], "little")
        return "audio/ogg", Decimal(last) / rate if rate else Decimal(0)
    raise Refused("unknown")


_RATES = (44_100, 48_000, 32_000)
_BITS = {  # kbit/s of layer III by version, ISO/IEC 11172-3 and 13818-3
    1: (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320),
    2: (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160),
}


def _frame(data: bytes | bytearray, at: int) -> tuple[int, Decimal] | None:
    """How long a frame of layer III is, in bytes and in seconds, or None where none begins."""
    if at + 4 > len(data) or data[at] != 0xFF or data[at + 1] & 0xE6 != 0xE2:
        return None
    version, bits, rate = data[at + 1] >> 3 & 3, data[at + 2] >> 4, data[at + 2] >> 2 & 3
    if version == 1 or bits in {0, 15} or rate == 3:
        return None
    hertz = _RATES[rate] >> {3: 0, 2: 1, 0: 2}[version]
    half = 1 if version == 3 else 2
    size = 144_000 // half * _BITS[half][bits] // hertz + (data[at + 2] >> 1 & 1)
    return size, Decimal(1152 // half) / hertz


def _mp3(data: Sheet) -> tuple[str, Decimal]:
    """Counts the frames; notes before and behind them are overwritten."""
    at, end, seconds = 0, len(data), Decimal(0)
    if data[:3] == b"ID3":
        at = 10 + sum(part << 7 * place for part, place in zip(data[6:10], (3, 2, 1, 0), strict=True))
        if at > end:
            raise Refused("broken")
        data[10:at] = bytes(at - 10)
    if data[-128:-125] == b"TAG":
        end -= 128
        data[end:] = bytes(128)
    while at < end and (found := _frame(data, at)):
        at, seconds = at + found[0], seconds + found[1]
    data[at:end] = bytes(max(end - at, 0))
    return "audio/mpeg", seconds
