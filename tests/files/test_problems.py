"""files: `verify` finds every file that is not what its row says."""

import pytest

from workshop.files import actions, queries

pytestmark = pytest.mark.django_db


def told() -> list[tuple[str, str]]:
    return [(problem.sha256, problem.what) for problem in queries.problems()]


def test_whole_files_have_no_problems() -> None:
    actions.store(b"one", "text/plain")
    actions.store(b"two", "text/plain")
    assert told() == []


@pytest.mark.parametrize("place", [0, 7, 14])
@pytest.mark.parametrize("bit", range(8))
def test_one_flipped_bit_is_found(place: int, bit: int) -> None:
    blob = actions.store(b"tightened 98 Nm", "text/plain")
    data = bytearray(queries.read(blob.pk))
    data[place] ^= 1 << bit
    queries.path(blob.pk).write_bytes(data)
    assert told() == [(blob.pk, "was altered: its bytes have another hash")]


def test_a_missing_file_is_found() -> None:
    blob = actions.store(b"gone", "text/plain")
    queries.path(blob.pk).unlink()
    assert told() == [(blob.pk, "is missing")]


def test_a_file_cut_short_is_found() -> None:
    blob = actions.store(b"cut short", "text/plain")
    queries.path(blob.pk).write_bytes(b"cut")
    assert told() == [(blob.pk, "has 3 bytes, 9 were stored")]
