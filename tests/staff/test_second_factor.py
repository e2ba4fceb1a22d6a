"""One-time codes from start to end: switched on, asked for, once each; a recovery code opens where the phone is lost."""

import base64
import hmac
import re
import struct
import time

import pytest
from allauth.mfa.models import Authenticator
from django.core.cache import cache
from django.test import Client

from workshop.staff.models import User

pytestmark = pytest.mark.django_db
PASSWORD = "four words to keep"


def code_at(secret: bytes, moment: float, digits: int = 6) -> str:
    """RFC 6238 with SHA-1 and steps of 30 s, over RFC 4226: written anew here, so that the library is held against the standard."""
    digest = hmac.digest(secret, struct.pack(">Q", int(moment) // 30), "sha1")
    offset = digest[-1] & 15
    return str((struct.unpack(">I", digest[offset : offset + 4])[0] & 0x7FFFFFFF) % 10**digits).zfill(digits)


# RFC 6238 appendix B, the rows of SHA-1 with the secret 12345678901234567890.
@pytest.mark.parametrize(
    ("moment", "code"), [(59, "94287082"), (1111111109, "07081804"), (1111111111, "14050471"), (20000000000, "65353130")]
)
def test_our_reckoning_is_that_of_the_standard(moment: int, code: str) -> None:
    assert code_at(b"12345678901234567890", moment, digits=8) == code


@pytest.fixture
def ada() -> User:
    cache.clear()  # the throttle counts there
    return User.objects.create_user("ada", password=PASSWORD, role="owner", first_name="Ada")


def signed_in(client: Client) -> Client:
    client.post("/accounts/login/", {"login": "ada", "password": PASSWORD})
    return client


def switched_on(client: Client) -> bytes:
    """Switches one-time codes on and returns the secret that the page showed."""
    where = "/accounts/2fa/totp/activate/"
    if client.get(where).status_code == 302:
        client.post("/accounts/reauthenticate/", {"password": PASSWORD, "next": where})
    shown = re.search(r'<span class="code">([A-Z2-7]+)</span>', client.get(where).content.decode())
    assert shown
    secret = base64.b32decode(shown[1])
    assert client.post(where, {"code": "000000"}).status_code == 200
    assert not Authenticator.objects.exists()
    assert client.post(where, {"code": code_at(secret, time.time())}).status_code == 302
    return secret


def test_codes_are_asked_for_once_switched_on(ada: User) -> None:
    secret = switched_on(signed_in(Client()))
    cache.clear()  # in real life half a minute has passed: a code counts once
    stranger = Client()
    answer = stranger.post("/accounts/login/", {"login": "ada", "password": PASSWORD})
    assert answer.headers["Location"].startswith("/accounts/2fa/authenticate/")
    assert stranger.get("/company/people/").status_code == 302
    assert "One-time code" in stranger.get("/accounts/2fa/authenticate/").content.decode()
    refused = stranger.post("/accounts/2fa/authenticate/", {"code": "000000"})
    assert "That code does not fit." in refused.content.decode()
    assert stranger.get("/company/people/").status_code == 302
    assert stranger.post("/accounts/2fa/authenticate/", {"code": code_at(secret, time.time())}).status_code == 302
    assert stranger.get("/company/people/").status_code == 200


def test_a_recovery_code_opens_once(ada: User) -> None:
    client = signed_in(Client())
    switched_on(client)
    page = client.get("/accounts/2fa/recovery-codes/").content.decode()
    codes = re.findall(r"\b[0-9a-f]{8}\b", re.sub(r"<(script|meta|link|input)[^>]*>", "", page)) or re.findall(r"\b\d{8,10}\b", page)
    assert codes
    for expected in (200, 302):
        stranger = signed_in(Client())
        stranger.post("/accounts/2fa/authenticate/", {"code": codes[0]})
        assert stranger.get("/company/people/").status_code == expected


def test_a_new_password_does_not_take_the_codes_away(ada: User) -> None:
    switched_on(signed_in(Client()))
    ada.set_password("another four words")
    ada.save()
    answer = Client().post("/accounts/login/", {"login": "ada", "password": "another four words"})
    assert answer.headers["Location"].startswith("/accounts/2fa/authenticate/")
