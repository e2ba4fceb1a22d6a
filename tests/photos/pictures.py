"""Pictures made for the tests, good ones and hostile ones. All are drawn here; nothing is anybody's photograph."""

import struct
import zlib
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw
from PIL.PngImagePlugin import PngInfo

DATA = Path(__file__).resolve().parent / "data"
RED, BLUE, WHITE = (200, 60, 40), (40, 90, 200), (255, 255, 255)


def card(width: int = 640, height: int = 480, mode: str = "RGB") -> Image.Image:
    """Red left, blue right, a white corner at the top left: shows which way is up."""
    image = Image.new("RGB", (width, height), RED)
    pen = ImageDraw.Draw(image)
    pen.rectangle((width // 2, 0, width, height), fill=BLUE)
    pen.rectangle((0, 0, width // 8, height // 6), fill=WHITE)
    return image.convert(mode)


def saved(image: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    out = BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def notes(orientation: int = 1, taken: str = "2026:11:20 10:31:07", offset: str = "", place: bool = True) -> Image.Exif:
    """Exif as a phone writes it (tags: CIPA DC-008)."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0112] = "Invented Camera Works", orientation
    detail = exif.get_ifd(0x8769)
    if taken:
        detail[0x9003] = taken
    if offset:
        detail[0x9011] = offset
    detail[0xA431] = "BODY-SERIAL-4471"
    if place:
        exif.get_ifd(0x8825).update({1: "S", 2: (37.0, 48.0, 0.0), 3: "E", 4: (144.0, 57.0, 0.0)})
    return exif


def telling() -> bytes:
    """A JPEG that says everything it can: Exif with place, XMP, IPTC, a colour profile, a comment and an embedded preview."""
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><exif:GPSLatitude>37,48S</exif:GPSLatitude></x:xmpmeta>'
    data = saved(card(), exif=notes(), xmp=xmp, comment=b"WORKSHOP-YARD-NOTE", icc_profile=display_p3(), quality=90)
    iptc = b"Photoshop 3.0\x008BIM\x04\x04\x00\x00\x00\x00\x00\x10\x1c\x02\x5a\x00\x0bVELLMARK-YD"
    return data[:2] + b"\xff\xed" + struct.pack(">H", len(iptc) + 2) + iptc + data[2:]


@cache
def display_p3() -> bytes:
    """An ICC profile (ICC.1:2010, version 2 matrix type) of Display P3, written by hand.

    Primaries under D50 as in CSS Color 4's sample code (lin_P3 to XYZ, adapted); curve of IEC 61966-2-1 in 1,024 steps.
    """

    def xyz(*values: float) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(value * 65536)) for value in values)

    def linear(code: float) -> float:
        return code / 12.92 if code <= 0.04045 else ((code + 0.055) / 1.055) ** 2.4

    curve = b"curv\0\0\0\0" + struct.pack(">I", 1024) + b"".join(struct.pack(">H", round(65535 * linear(n / 1023))) for n in range(1024))
    name = b"Wide by hand\0"
    said = b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + bytes(78)
    tags = {
        b"desc": said,
        b"cprt": b"text\0\0\0\0none\0",
        b"wtpt": xyz(0.9642, 1.0, 0.8249),
        b"rXYZ": xyz(0.51512, 0.24120, -0.00105),
        b"gXYZ": xyz(0.29198, 0.69225, 0.04189),
        b"bXYZ": xyz(0.15710, 0.06657, 0.78407),
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }
    table, body, at = struct.pack(">I", len(tags)), b"", 128 + 4 + 12 * len(tags)
    for tag, data in tags.items():
        table += tag + struct.pack(">II", at + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    head = struct.pack(">I4sI4s4s4s", at + len(body), bytes(4), 0x02400000, b"mntr", b"RGB ", b"XYZ ") + bytes(12) + b"acsp"
    return (head + bytes(28) + struct.pack(">iii", 63190, 65536, 54061)).ljust(128, b"\0") + table + body


def png(width: int, height: int, depth: int = 1, colour: int = 0, rows: int | None = None) -> bytes:
    """A flat PNG of any size, cheap to make (ISO/IEC 15948): `depth` bits, `colour` 0 grey or 2 RGB."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    row = bytes(1 + (width * depth * (3 if colour == 2 else 1) + 7) // 8)
    press = zlib.compressobj(1)
    body = b"".join(press.compress(row) for _ in range(height if rows is None else rows)) + press.flush()
    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


def claiming(width: int, height: int) -> bytes:
    """A small JPEG whose header claims another size (ISO/IEC 10918-1, B.2.2)."""
    data = saved(card(64, 48), progressive=False)
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + struct.pack(">HH", height, width) + data[at + 4 :]


def commented() -> bytes:
    note = PngInfo()
    note.add_text("Comment", "WORKSHOP-YARD-NOTE", zip=False)
    note.add_itxt("XML:com.adobe.xmp", "<GPSLatitude>37,48S</GPSLatitude>")
    return saved(card(), "PNG", pnginfo=note, exif=notes())


def moving(kind: str) -> bytes:
    return saved(card(), kind, save_all=True, append_images=[card().rotate(180)], duration=100)
