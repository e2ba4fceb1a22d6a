"""Sums need no database, no clock and no files, so the fixtures of the rooms are not set up for them."""

import pytest


@pytest.fixture(autouse=True)
def _files_apart() -> None:
    """Nothing here writes a file."""
