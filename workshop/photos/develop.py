"""The darkroom: a picture comes in on stdin, two clean JPEGs go out on stdout. Runs alone, in a process with narrow limits.

Started by `actions.develop` as a script: `python -I develop.py SIDE SMALL PIXELS MEMORY SECONDS`. Knows no Django, no settings, no
database; whoever breaks a decoder with a crafted file finds an empty environment and no file to open.

Out: four bytes of length (big endian), that many bytes of JSON, then the full and the small JPEG. The JSON says either
{"refused": reason, ...} or {"width", "height", "full", "small" (sizes in bytes), "taken", "offset" (as the camera wrote them)}.
"""

import json
import os
import re
import resource
import sys
import warnings
from io import BytesIO
from typing import Any

import pi_heif
from PIL import Image, ImageCms, ImageOps, JpegImagePlugin, MpoImagePlugin, PngImagePlugin, WebPImagePlugin

LOADED = (JpegImagePlugin, MpoImagePlugin, PngImagePlugin, WebPImagePlugin)  # now: soon no file can be opened

SIGNATURES = {
    "JPEG": re.compile(rb"\xff\xd8\xff"),
    "PNG": re.compile(rb"\x89PNG\r\n\x1a\n"),
    "WEBP": re.compile(rb"RIFF....WEBP", re.DOTALL),
    "HEIF": re.compile(rb"....ftyp(hei[cxms]|hev[cxms]|mif1|msf1)", re.DOTALL),
}
EXIF_IFD, TAKEN, OFFSET, TAKEN_PLAIN = 0x8769, 0x9003, 0x9011, 0x0132  # CIPA DC-008 (Exif): DateTimeOriginal, OffsetTimeOriginal, DateTime
SRGB = ImageCms.createProfile("sRGB")


class Refused(Exception):
    """A reason and its figures; the words are made by whoever asked."""

    def __init__(self, reason: str, **figures: float) -> None:
        super().__init__(reason)
        self.told = {"refused": reason, **figures}


def narrow(memory: int, seconds: int) -> None:
    """From here on: no file opened, none written, no core left, so much memory (bytes) and so much processor time (seconds)."""
    for kind, most in (
        (resource.RLIMIT_AS, memory),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_NOFILE, 3),
    ):
        resource.setrlimit(kind, (most, most))


def opened(data: bytes, pixels: int) -> Image.Image:
    """The picture with its header read and nothing decoded yet. Its decoder is chosen by its first bytes, never by a name."""
    kind = next((name for name, mark in SIGNATURES.items() if mark.match(data)), None)
    if kind is None:
        raise Refused("unreadable")
    Image.MAX_IMAGE_PIXELS = pixels
    try:
        image = Image.open(BytesIO(data), formats=(kind,))
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        found = re.search(r"\d+", str(error))
        raise Refused("large", megapixels=int(found[0]) / 1e6 if found else 0) from error
    except MemoryError:
        raise
    except Exception as error:
        raise Refused("broken") from error
    if kind in ("PNG", "WEBP") and getattr(image, "is_animated", False):
        raise Refused("moving")
    return image


def reduced(image: Image.Image, side: int) -> Image.Image:
    """Decoded and brought to the size that is kept. JPEG is decoded small already (draft), so a large one needs little memory."""
    try:
        longest = max(image.size)
        image.draft(None, (image.width * 2 * side // longest, image.height * 2 * side // longest))  # twice the size: enough to average from
        image.load()
    except MemoryError:
        raise
    except Exception as error:
        raise Refused("broken") from error
    if image.mode.startswith("I"):  # 16 bits of grey
        notes, image = image.info, image.point(lambda level: level / 256).convert("L")
        image.info = notes
    elif image.mode in ("P", "PA", "1"):  # what cannot be averaged as it is
        image = image.convert("RGBA" if "transparency" in image.info or image.mode == "PA" else "RGB")
    elif "transparency" in image.info:
        image = image.convert("RGBA")
    image.thumbnail((side, side), Image.Resampling.LANCZOS, reducing_gap=3.0)
    return image


def upright(image: Image.Image) -> Image.Image:
    """Turned as the camera was held. A picture whose notes cannot be read stays as it lies."""
    try:
        return ImageOps.exif_transpose(image)
    except (ValueError, TypeError, KeyError, SyntaxError, OSError, ArithmeticError):
        return image


def clean(image: Image.Image) -> Image.Image:
    """In sRGB, on white, and with no note of any kind: the pixels are laid on a fresh sheet."""
    alpha = image.getchannel("A") if image.mode in ("RGBA", "LA") else None
    profile = image.info.get("icc_profile")
    image = image.convert({"RGBA": "RGB", "LA": "L"}.get(image.mode, image.mode))
    if profile:
        try:
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            image = ImageCms.profileToProfile(image, source, SRGB, outputMode="RGB") or image
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            pass  # a profile that is not one: the colours are taken as they stand
    sheet = Image.new("RGB", image.size, "white")
    sheet.paste(image.convert("RGB"), mask=alpha)
    return sheet


def printed(image: Image.Image, quality: int) -> bytes:
    """As JPEG; the same pixels give the same bytes."""
    out = BytesIO()
    image.save(out, "JPEG", quality=quality, progressive=True, optimize=True, exif=b"")
    return out.getvalue()


def capture_time(image: Image.Image) -> dict[str, str]:
    """When it was taken and at which offset from UTC, in the camera's own text; empty where it says nothing."""
    try:
        exif = image.getexif()
        detail = exif.get_ifd(EXIF_IFD)
        taken = detail.get(TAKEN) or exif.get(TAKEN_PLAIN) or ""
        return {"taken": str(taken)[:40], "offset": str(detail.get(OFFSET) or "")[:40] if TAKEN in detail else ""}
    except Exception:  # written by anybody's camera, in any state
        return {"taken": "", "offset": ""}


def develop(data: bytes, side: int, small_side: int, pixels: int) -> tuple[dict[str, Any], bytes, bytes]:
    """What the JSON says, the full and the small JPEG. Raises Refused."""
    image = opened(data, pixels)
    image = reduced(image, side)
    when = capture_time(image)
    full = clean(upright(image))
    small = full.copy()
    small.thumbnail((small_side, small_side), Image.Resampling.LANCZOS)
    large_bytes, small_bytes = printed(full, 80), printed(small, 75)
    told = {"width": full.width, "height": full.height, "full": len(large_bytes), "small": len(small_bytes), **when}
    return told, large_bytes, small_bytes


def main(side: int, small_side: int, pixels: int, memory: int, seconds: int) -> None:
    """From stdin to stdout."""
    warnings.simplefilter("ignore")
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    Image.preinit()  # Image.init() would load fifty decoders that nothing here uses
    pi_heif.register_heif_opener()
    narrow(memory, seconds)
    full = small = b""
    try:
        told, full, small = develop(sys.stdin.buffer.read(), side, small_side, pixels)
    except Refused as refused:
        told = refused.told
    except MemoryError:
        told = {"refused": "heavy"}
    head = json.dumps(told).encode()
    sys.stdout.buffer.write(len(head).to_bytes(4) + head + full + small)
    sys.stdout.buffer.flush()
    os._exit(0)  # no tidying: nothing is left to tidy, and a tired decoder cannot spoil the answer


if __name__ == "__main__":
    main(*map(int, sys.argv[1:6]))
