"""Links: 256 bits, only the hash kept, dead when revoked or expired."""

import base64
import datetime as dt
import uuid

import pytest

from workshop import clock
from workshop.links import actions, queries
from workshop.links.models import Link

NOON = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)


@pytest.fixture
def link(db: None) -> Link:
    with clock.frozen(NOON):
        return actions.make("quote", uuid.uuid4(), "Osgood Plumtree", NOON + dt.timedelta(days=7))


def test_the_token_is_256_bits_and_never_lies_in_the_database(link: Link) -> None:
    token = queries.token_of(link)
    assert len(base64.urlsafe_b64decode(token + "=")) == 32
    assert token not in " ".join(str(value) for value in Link.objects.values_list().get())
    assert queries.token_of(link) == token
    assert queries.find(token, "quote") == link


def test_another_purpose_or_another_token_finds_nothing(link: Link) -> None:
    token = queries.token_of(link)
    assert queries.find(token, "invoice") is None
    assert queries.find(token[:-1] + ("A" if token[-1] != "A" else "B"), "quote") is None


def test_a_new_key_kills_every_link(link: Link, settings: object) -> None:
    token = queries.token_of(link)
    settings.SECRET_KEY = "another key that is long enough to be taken for a real one"  # type: ignore[attr-defined]
    assert queries.token_of(link) != token


def test_expired_and_revoked_links_are_dead(link: Link) -> None:
    with clock.frozen(NOON):
        assert queries.alive(link)
    with clock.frozen(NOON + dt.timedelta(days=7)):
        assert not queries.alive(link)
    actions.revoke(link)
    link.refresh_from_db()
    with clock.frozen(NOON):
        assert not queries.alive(link)
