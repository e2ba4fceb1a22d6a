"""Find a picture and its bytes."""

import uuid

from workshop.files import queries as files
from workshop.files.models import Blob
from workshop.photos.models import Clip, Photo

SIZES = ("full", "small")


def photo(uid: uuid.UUID) -> Photo:
    """The photo with its two blobs. Raises Photo.DoesNotExist."""
    return Photo.objects.select_related("full", "small").get(uid=uid)


def blob_of(photo: Photo, size: str) -> Blob:
    """The blob of one size, "full" or "small". LookupError for another."""
    if size not in SIZES:
        raise LookupError(f"A picture is full or small, not {size}.")
    return photo.full if size == "full" else photo.small


def bytes_of(photo: Photo, size: str) -> bytes:
    """The JPEG in one size. LookupError for another size; files.queries.Missing when it is not on the disk."""
    return files.read(blob_of(photo, size).pk)


def clip(uid: uuid.UUID) -> Clip:
    """The clip. Raises Clip.DoesNotExist."""
    return Clip.objects.get(uid=uid)
