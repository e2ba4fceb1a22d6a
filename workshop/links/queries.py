"""Find a link by its token, show the token again."""

import base64
import hashlib
import hmac

from django.conf import settings
from django.urls import reverse

from workshop import clock
from workshop.links.models import Link


def token_of(link: Link) -> str:
    """The 43 characters (256 bits) in the address.

    HMAC-SHA-256 over the link's id, so that it can be shown again and never lies in the database.
    """
    digest = hmac.new(settings.SECRET_KEY.encode(), b"hardstand link " + link.uid.bytes, hashlib.sha256).digest()
    return base64.urlsafe_b64encode(digest).decode().rstrip("=")


def token_hash(token: str) -> str:
    """What the database keeps of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def find(token: str, purpose: str) -> Link | None:
    """The link of that purpose, dead or alive; None for an unknown token."""
    return Link.objects.filter(token_sha=token_hash(token), purpose=purpose).first()


def alive(link: Link) -> bool:
    """Neither expired nor revoked."""
    return link.revoked_at is None and clock.now() < link.expires_at


def address(link: Link, page: str) -> str:
    """The whole address to send, for a page that takes a token."""
    return settings.SITE_URL + reverse(page, args=[token_of(link)])
