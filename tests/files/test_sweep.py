"""files: the sweep takes what no row names, and only when it is old."""

import datetime as dt
from pathlib import Path

import pytest

from workshop import clock
from workshop.files import actions, queries
from workshop.files.models import Blob

pytestmark = pytest.mark.django_db


def later(hours: float) -> dt.datetime:
    return clock.now() + dt.timedelta(hours=hours)


@pytest.fixture
def orphan() -> Path:
    blob = actions.store(b"no row names this", "text/plain")
    Blob.objects.all().delete()
    return queries.path(blob.pk)


def test_a_named_file_stays_for_ever() -> None:
    blob = actions.store(b"kept", "text/plain")
    with clock.frozen(later(24 * 365 * 10)):
        assert actions.sweep() == 0
    assert queries.read(blob.pk) == b"kept"


def test_a_young_orphan_stays_its_row_may_be_on_its_way(orphan: Path) -> None:
    with clock.frozen(later(23)):
        assert actions.sweep() == 0
    assert orphan.exists()


def test_an_old_orphan_goes(orphan: Path) -> None:
    with clock.frozen(later(25)):
        assert actions.sweep() == 1
    assert not orphan.exists()


def test_an_old_unfinished_part_goes(orphan: Path) -> None:
    part = orphan.with_name(".part-k7")
    part.write_bytes(b"half a pict")
    with clock.frozen(later(25)):
        assert actions.sweep() == 2
    assert not part.exists()


def test_an_old_orphan_that_is_stored_again_is_young_again(orphan: Path) -> None:
    import os

    old = later(-48).timestamp()
    os.utime(orphan, (old, old))
    actions.store(b"no row names this", "text/plain")
    Blob.objects.all().delete()  # as a sweep sees it while the other transaction has not committed
    assert actions.sweep() == 0
    assert orphan.exists()
