"""A home, a line to it and a phone for each journey. The place is filled once a session and copied."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, expect

from tests import homes
from tests.browser.home import Home, copied, filled
from tests.browser.phone import Phone
from tests.browser.proxy import Line

expect.set_options(timeout=20_000)


@pytest.fixture(scope="session")
def filled_place(tmp_path_factory: pytest.TempPathFactory) -> Iterator[homes.Surroundings]:
    """What every journey starts from."""
    with filled(tmp_path_factory.mktemp("template")) as place:
        yield place


@pytest.fixture
def home(filled_place: homes.Surroundings, tmp_path: Path) -> Iterator[Home]:
    """A running server on a copy of its own: .url .stop() .start() .kill() .manage() .rows()."""
    with copied(filled_place, tmp_path / "home") as home:
        home.start()
        yield home


@pytest.fixture
def line(home: Home) -> Iterator[Line]:
    """The line between phone and home; journeys that count or break use line.url."""
    with Line(home.port) as line:
        yield line


@pytest.fixture
def phone(playwright: Playwright, tmp_path: Path) -> Iterator[Phone]:
    """A phone of 360 by 780. A word from the browser about our content security policy fails the journey."""
    phone = Phone(playwright, tmp_path / "profile")
    yield phone
    phone.close()
    assert phone.complaints == []
