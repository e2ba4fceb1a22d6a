"""photos:picture: the bytes, for people of the business."""

import uuid
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from PIL import Image
from pytest_django.fixtures import DjangoAssertNumQueries

from tests.photos import pictures as made
from workshop.files import queries as files
from workshop.photos import actions, queries
from workshop.photos.models import Photo

pytestmark = pytest.mark.django_db


@pytest.fixture
def photo() -> Photo:
    return actions.take(made.saved(made.card(1200, 900)))


def address(uid: uuid.UUID, size: str) -> str:
    return reverse("photos:picture", args=[uid, size])  # photos:picture


@pytest.mark.parametrize(("size", "width"), [("full", 1200), ("small", 320)])
def test_the_mechanic_sees_it(size: str, width: int, photo: Photo, as_mechanic: Client) -> None:
    response = as_mechanic.get(address(photo.uid, size))
    assert (response.status_code, response["Content-Type"]) == (200, "image/jpeg")
    assert Image.open(BytesIO(response.content)).width == width
    assert response.content == queries.bytes_of(photo, size)


def test_the_browser_is_told_to_run_nothing_and_may_keep_it(photo: Photo, as_office: Client) -> None:
    response = as_office.get(address(photo.uid, "full"))
    assert response["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "private, max-age=31536000, immutable"
    assert response["Content-Disposition"].startswith("inline;")


def test_a_stranger_is_sent_to_sign_in(photo: Photo) -> None:
    response = Client().get(address(photo.uid, "full"))
    assert response.status_code == 302
    assert response["Location"].startswith("/accounts/login/")


def test_the_bookkeeper_sees_no_picture(photo: Photo, as_bookkeeper: Client) -> None:
    assert as_bookkeeper.get(address(photo.uid, "full")).status_code == 403


def test_an_unknown_picture_or_size_is_not_there(photo: Photo, as_mechanic: Client) -> None:
    assert as_mechanic.get(address(uuid.uuid4(), "full")).status_code == 404
    assert as_mechanic.get(address(photo.uid, "original")).status_code == 404


def test_a_picture_lost_from_the_disk_is_not_there(photo: Photo, as_mechanic: Client) -> None:
    files.path(photo.full.pk).unlink()
    assert as_mechanic.get(address(photo.uid, "full")).status_code == 404


def test_it_is_only_looked_at(photo: Photo, as_mechanic: Client) -> None:
    assert as_mechanic.post(address(photo.uid, "full")).status_code == 405


def test_three_queries_find_it(photo: Photo, as_mechanic: Client, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    """The session, the person, the photo with its blobs."""
    with django_assert_num_queries(3):
        as_mechanic.get(address(photo.uid, "small"))
