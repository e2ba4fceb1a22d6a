"""Bytes back by their hash, and what is wrong on the disk."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from workshop.files.models import Blob


class Missing(LookupError):
    """A row names bytes that are not on the disk."""


@dataclass(frozen=True)
class Problem:
    """A blob whose file is not what its row says."""

    sha256: str
    what: str


def path(sha256: str) -> Path:
    """Where the bytes of this hash lie: FILES_ROOT/ab/cd/<hash>. ValueError for anything but 64 small hex digits."""
    if len(sha256) != 64 or set(sha256) - set("0123456789abcdef"):
        raise ValueError(f"{sha256!r} is not a SHA-256 in hex.")
    return Path(settings.FILES_ROOT) / sha256[:2] / sha256[2:4] / sha256


def read(sha256: str) -> bytes:
    """The bytes. Raises Missing when they are not there."""
    try:
        return path(sha256).read_bytes()
    except FileNotFoundError as error:
        raise Missing(f"The file {sha256} is not on the disk. Restore it from a backup.") from error


def problems() -> Iterator[Problem]:
    """Every blob whose file is missing, has another size or another hash (for `verify`; reads all bytes)."""
    for blob in Blob.objects.order_by("pk").iterator(chunk_size=500):
        if what := _wrong_with(blob):
            yield Problem(blob.sha256, what)


def _wrong_with(blob: Blob) -> str:
    try:
        with path(blob.sha256).open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
            size = file.tell()
    except OSError as error:
        return "is missing" if isinstance(error, FileNotFoundError) else f"cannot be read ({error.strerror})"
    if size != blob.size:
        return f"has {size} bytes, {blob.size} were stored"
    return "" if found == blob.sha256 else "was altered: its bytes have another hash"
