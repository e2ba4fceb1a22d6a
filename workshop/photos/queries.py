"""Find a picture and its bytes."""

import uuid
from collections.abc import Iterable

from workshop.files import queries as files
from workshop.files.models import Blob
from workshop.photos.models import Clip, Photo

SIZES = ("full", "small")


def photo(uid: uuid.UUID) -> Photo:
    """The photo with its two blobs. Raises Photo.DoesNotExist."""
    return Photo.objects.select_related("full", "small").get(uid=uid)


def by_uids(uids: Iterable[str]) -> list[Photo]:
    """The photos with these uids, in their order, each once; what is no uid, or of no photo, is left out. One query."""
    wanted = [found for text in uids if (found := _uid(text))]
    there = {photo.uid: photo for photo in Photo.objects.filter(uid__in=wanted)}
    return [there[uid] for uid in dict.fromkeys(wanted) if uid in there]


def _uid(text: str) -> uuid.UUID | None:
    try:
        return uuid.UUID(text)
    except ValueError:
        return None


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
