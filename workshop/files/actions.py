"""Put bytes on the disk by their hash, and sweep away what no row names."""

import hashlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from django.conf import settings

from workshop import clock
from workshop.files import queries
from workshop.files.models import Blob

EVENTS: dict[str, str] = {}  # bytes are recorded by the verb that needs them
LEFT_ALONE = timedelta(hours=24)


def store(data: bytes, media_type: str) -> Blob:
    """The blob of these bytes; records nothing. The file is safe on the disk before the row exists, so a row never lacks its file.

    The same bytes twice are one file and one blob, with the media type of the first. The row belongs to the caller's transaction:
    rolled back, it leaves a file without a row, which `sweep` removes.
    """
    sha256 = hashlib.sha256(data).hexdigest()
    _put(queries.path(sha256), data)
    blob, _ = Blob.objects.get_or_create(pk=sha256, defaults={"media_type": media_type, "size": len(data), "created_at": clock.now()})
    if not queries.path(sha256).exists():  # a sweep saw the file without its row, a moment ago
        _put(queries.path(sha256), data)
    return blob


def store_file(source: Path, media_type: str) -> Blob:
    """As `store`, of a file on the disk that may be larger than the memory. The source stays where it is."""
    with source.open("rb") as file:
        sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    for _try in range(2):  # the second time when a sweep saw the file without its row, a moment ago
        _copy(source, queries.path(sha256), sha256)
        about = {"media_type": media_type, "size": source.stat().st_size, "created_at": clock.now()}
        blob, _ = Blob.objects.get_or_create(pk=sha256, defaults=about)
        if queries.path(sha256).exists():
            break
    return blob


def _copy(source: Path, target: Path, sha256: str) -> None:
    """Under another name first, then renamed, unless it is there whole."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if target.is_file() and _digest(target) == sha256:
        os.utime(target)
    else:
        handle, part = tempfile.mkstemp(prefix=".part-", dir=target.parent)
        try:
            with os.fdopen(handle, "wb") as file, source.open("rb") as whole:
                shutil.copyfileobj(whole, file)
                file.flush()
                os.fsync(file.fileno())
            Path(part).replace(target)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise
    for folder in (target.parent, target.parent.parent, target.parent.parent.parent):
        _settle(folder)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _put(target: Path, data: bytes) -> None:
    """Writes the file unless it is there whole. A damaged one is replaced by the good bytes."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if _holds(target, data):
        os.utime(target)  # young again: no sweep takes it before its row is written
    else:
        _write(target, data)
    for folder in (target.parent, target.parent.parent, target.parent.parent.parent):
        _settle(folder)


def _holds(target: Path, data: bytes) -> bool:
    try:
        return target.read_bytes() == data
    except FileNotFoundError:
        return False


def _write(target: Path, data: bytes) -> None:
    """Under another name first, then renamed: nobody ever reads half a file."""
    handle, part = tempfile.mkstemp(prefix=".part-", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(part).replace(target)
    except BaseException:
        Path(part).unlink(missing_ok=True)
        raise


def _settle(folder: Path) -> None:
    """A rename survives a power cut only when its folder was synced too."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def sweep(older_than: timedelta = LEFT_ALONE) -> int:
    """Deletes files that no row names and parts that were never finished, if older than that. Returns how many; records nothing.

    Young ones are left alone: their row may be on its way in a transaction that has not committed.
    """
    before = (clock.now() - older_than).timestamp()
    return sum(_drop(file, before) for folder in Path(settings.FILES_ROOT).glob("??/??") for file in _unnamed(folder))


def _unnamed(folder: Path) -> Iterator[Path]:
    files = {file.name: file for file in folder.iterdir() if file.is_file()}
    named = set(Blob.objects.filter(pk__in=files).values_list("pk", flat=True))
    return (file for name, file in files.items() if name not in named)


def _drop(file: Path, before: float) -> bool:
    try:
        old = file.stat().st_mtime < before
    except FileNotFoundError:
        return False
    if old:
        file.unlink(missing_ok=True)
    return old
