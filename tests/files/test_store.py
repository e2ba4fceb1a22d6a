"""files: bytes by hash, on the disk before any row."""

import datetime as dt
import hashlib
import os
from pathlib import Path

import pytest
from django.db import transaction

from workshop import clock
from workshop.files import actions, queries
from workshop.files.models import Blob

pytestmark = pytest.mark.django_db
WORDS = b"oil pump relief spring 42.1 mm"


def on_disk(settings: object) -> list[Path]:
    return sorted(path for path in Path(settings.FILES_ROOT).rglob("*") if path.is_file())  # type: ignore[attr-defined]


def test_bytes_lie_under_their_hash(settings: object) -> None:
    blob = actions.store(WORDS, "text/plain")
    sha256 = hashlib.sha256(WORDS).hexdigest()  # FIPS 180-4
    assert (blob.sha256, blob.size, blob.media_type) == (sha256, len(WORDS), "text/plain")
    assert on_disk(settings) == [queries.path(sha256)]
    assert queries.path(sha256).parts[-3:] == (sha256[:2], sha256[2:4], sha256)
    assert queries.read(sha256) == WORDS


def test_the_hash_of_abc_is_the_published_one() -> None:
    """FIPS 180-4, the example of NIST for SHA-256 of "abc"."""
    assert actions.store(b"abc", "text/plain").pk == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_the_same_bytes_twice_are_one_file_and_one_row(settings: object) -> None:
    first = actions.store(WORDS, "text/plain")
    before = queries.path(first.pk).stat().st_ino
    assert actions.store(WORDS, "application/pdf") == first
    assert Blob.objects.get().media_type == "text/plain"
    assert queries.path(first.pk).stat().st_ino == before
    assert len(on_disk(settings)) == 1


def test_a_damaged_file_is_healed_when_the_good_bytes_come_again() -> None:
    blob = actions.store(WORDS, "text/plain")
    queries.path(blob.pk).write_bytes(b"rust")
    actions.store(WORDS, "text/plain")
    assert queries.read(blob.pk) == WORDS


def test_killed_between_rename_and_row_leaves_a_file_without_a_row(settings: object, monkeypatch: pytest.MonkeyPatch) -> None:
    def killed(*args: object, **kwargs: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Blob.objects, "get_or_create", killed)
    with pytest.raises(KeyboardInterrupt):
        actions.store(WORDS, "text/plain")
    assert [path.read_bytes() for path in on_disk(settings)] == [WORDS]
    assert not Blob.objects.exists()
    monkeypatch.undo()


@pytest.mark.parametrize("point", ["fsync", "replace"])
def test_killed_before_the_rename_leaves_neither_file_nor_row(point: str, settings: object, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*args: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os if point == "fsync" else Path, point, full)
    with pytest.raises(OSError, match="No space"):
        actions.store(WORDS, "text/plain")
    monkeypatch.undo()
    assert on_disk(settings) == []
    assert not Blob.objects.exists()


def test_everything_is_synced_before_the_row(monkeypatch: pytest.MonkeyPatch) -> None:
    """The order: write, sync the file, rename, sync the three folders, row."""
    done: list[str] = []
    fsync, replace, create = os.fsync, Path.replace, Blob.objects.get_or_create
    monkeypatch.setattr(os, "fsync", lambda handle: (done.append("sync"), fsync(handle))[1])
    monkeypatch.setattr(Path, "replace", lambda self, target: (done.append("rename"), replace(self, target))[1])
    monkeypatch.setattr(Blob.objects, "get_or_create", lambda **values: (done.append("row"), create(**values))[1])
    actions.store(WORDS, "text/plain")
    assert done == ["sync", "rename", "sync", "sync", "sync", "row"]


def test_a_rolled_back_caller_takes_the_row_along_and_the_sweep_the_file(settings: object) -> None:
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        actions.store(WORDS, "text/plain")
        raise ZeroDivisionError
    assert not Blob.objects.exists()
    assert len(on_disk(settings)) == 1
    with clock.frozen(clock.now() + dt.timedelta(hours=25)):
        assert actions.sweep() == 1
    assert on_disk(settings) == []


def test_bytes_that_are_not_there_are_missing() -> None:
    with pytest.raises(queries.Missing, match="Restore it from a backup"):
        queries.read("0" * 64)


@pytest.mark.parametrize("name", ["", "../../etc/passwd", "A" * 64, "0" * 63, "0" * 63 + "/"])
def test_a_name_that_is_no_hash_leads_nowhere(name: str) -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        queries.path(name)
