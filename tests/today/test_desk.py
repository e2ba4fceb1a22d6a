"""today:desk, the office's first page."""

import pytest
from django.test import Client


@pytest.mark.django_db
def test_an_empty_desk_says_so(as_office: Client) -> None:
    page = as_office.get("/").content.decode()
    assert "No card is open." in page
    assert "Everything is paid." in page


@pytest.mark.django_db
def test_each_begins_where_the_work_is(as_mechanic: Client, as_bookkeeper: Client, as_owner: Client) -> None:
    assert as_mechanic.get("/").headers["Location"] == "/m/"
    assert as_bookkeeper.get("/").headers["Location"] == "/books/"
    assert as_owner.get("/").status_code == 200
