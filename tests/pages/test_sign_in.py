"""The sign-in pages: in our look, no way to sign up, nothing a strict policy would block."""

import re

import pytest
from django.test import Client

from workshop.staff.models import User

pytestmark = pytest.mark.django_db
PASSWORD = "four words to keep"


@pytest.fixture
def ada():
    return User.objects.create_user("ada", password=PASSWORD, role="owner", first_name="Ada", last_name="Quillfeather")


@pytest.fixture
def signed_in(ada):
    client = Client()
    client.post("/accounts/login/", {"login": "ada", "password": PASSWORD})
    return client


def ours(response):
    page = response.content.decode()
    assert response.status_code == 200
    assert '<section class="sheet">' in page
    assert not re.search(r'(href|action)="[^"]*signup', page)
    assert not re.search(r" (style|on\w+)=", page)
    assert all("src=" in tag or "application/json" in tag for tag in re.findall(r"<script[^>]*>", page))
    return page


@pytest.mark.parametrize("address", ["login/", "signup/", "password/reset/", "inactive/"])
def test_pages_for_a_stranger(client, address):
    page = ours(client.get(f"/accounts/{address}"))
    assert "Sign in" in page


@pytest.mark.parametrize(
    ("address", "title"),
    [
        ("logout/", "Sign out"),
        ("password/change/", "New password"),
        ("2fa/", "Sign-in keys"),
        ("2fa/totp/activate/", "One-time codes"),
        ("2fa/webauthn/", "Passkeys"),
        ("2fa/webauthn/add/", "Add a passkey"),
    ],
)
def test_pages_for_who_is_signed_in(signed_in, address, title):
    page = ours(signed_in.get(f"/accounts/{address}", follow=True))
    if "Show that it is you" in page:  # keys are changed only just after a sign-in
        page = ours(signed_in.post("/accounts/reauthenticate/", {"password": PASSWORD, "next": f"/accounts/{address}"}, follow=True))
    assert f"<h1>{title}</h1>" in page


def test_the_right_password_opens(ada, client):
    response = client.post("/accounts/login/", {"login": "ada", "password": PASSWORD})
    assert response.status_code == 302
    assert client.session["_auth_user_id"] == str(ada.pk)


def test_a_wrong_password_keeps_the_name_and_does_not_open(ada, client):
    page = ours(client.post("/accounts/login/", {"login": "ada", "password": "wrong"}))
    assert 'value="ada"' in page
    assert 'role="alert"' in page
    assert "_auth_user_id" not in client.session


def test_nobody_signs_up(client):
    client.post("/accounts/signup/", {"username": "stranger", "password1": PASSWORD, "password2": PASSWORD})
    assert not User.objects.exists()


def test_signing_out_is_a_button(signed_in):
    signed_in.get("/accounts/logout/")
    assert "_auth_user_id" in signed_in.session
    signed_in.post("/accounts/logout/")
    assert "_auth_user_id" not in signed_in.session
