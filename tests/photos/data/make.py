"""Made the two HEIC files beside this script, once, with `heif-enc` of Debian 12's libheif-examples (1.15.1); tests only read them.

plain.heic    640 x 480, red left, blue right, a white corner at the top left; Exif orientation 6, a time and a place.
turned.heic   the same with an `irot` box (ISO/IEC 23008-12, 6.5.10: quarter turns against the clock), as phones write it.
"""

import subprocess
from pathlib import Path

from PIL import Image, ImageDraw

HERE = Path(__file__).resolve().parent
TURNS = 3  # three quarter turns against the clock are one with it: what Exif calls orientation 6


def drawn() -> Path:
    image = Image.new("RGB", (640, 480), (200, 60, 40))
    pen = ImageDraw.Draw(image)
    pen.rectangle((320, 0, 639, 479), fill=(40, 90, 200))
    pen.rectangle((0, 0, 80, 80), fill="white")
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769).update({0x9003: "2026:11:20 10:31:07", 0x9011: "+10:00"})
    exif.get_ifd(0x8825).update({1: "S", 2: (37.0, 48.0, 0.0), 3: "E", 4: (144.0, 57.0, 0.0)})
    path = HERE / "source.jpg"
    image.save(path, quality=95, exif=exif, subsampling=0)
    return path


def turned(data: bytes) -> bytes:
    """The file with an `irot` property for its first item: boxes grown, places in `iloc` moved on."""
    ipco, ipma = data.index(b"ipco") - 4, data.index(b"ipma") - 4
    ipco_size = int.from_bytes(data[ipco : ipco + 4])
    count = ipma + 8 + 4 + 4 + 2  # version and flags, number of entries, item id; then how many properties it has
    properties = properties_in(data[ipco + 8 : ipco + ipco_size])
    out = bytearray(data)
    end = count + 1 + out[count]
    out[end:end] = bytes([0x80 | (properties + 1)])
    out[count] += 1
    out[ipco + ipco_size : ipco + ipco_size] = (9).to_bytes(4) + b"irot" + bytes([TURNS])
    for name, grown in ((b"meta", 10), (b"iprp", 10), (b"ipco", 9), (b"ipma", 1)):
        at = data.index(name) - 4 + (9 if name == b"ipma" else 0)
        out[at : at + 4] = (int.from_bytes(out[at : at + 4]) + grown).to_bytes(4)
    return moved(out, 10)


def properties_in(boxes: bytes) -> int:
    count = at = 0
    while at < len(boxes):
        count, at = count + 1, at + int.from_bytes(boxes[at : at + 4])
    return count


def moved(out: bytearray, by: int) -> bytes:
    """Every item of `iloc` version 0 with 4-byte base offsets, one extent each."""
    at = out.index(b"iloc") + 4
    assert out[at : at + 6] == bytes([0, 0, 0, 0, 0x44, 0x40]), "another kind of iloc"
    items, at = int.from_bytes(out[at + 6 : at + 8]), at + 8
    for _ in range(items):
        out[at + 4 : at + 8] = (int.from_bytes(out[at + 4 : at + 8]) + by).to_bytes(4)
        at += 18
    return bytes(out)


if __name__ == "__main__":
    source = drawn()
    subprocess.run(["heif-enc", "-q", "60", "-o", HERE / "plain.heic", source], check=True)
    source.unlink()
    (HERE / "turned.heic").write_bytes(turned((HERE / "plain.heic").read_bytes()))
