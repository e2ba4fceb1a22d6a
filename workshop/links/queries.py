"""Find a link by its token, show the token again."""

import base64
import hashlib
import hmac
from dataclasses import dataclass
from urllib.parse import quote as escaped

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


@dataclass(frozen=True)
class Passing:
    """An address on its way to somebody: words that lead to it, the addresses of a message and a mail that are begun with them."""

    address: str
    title: str
    words: str
    sms: str
    mail: str


def passing(address: str, *, title: str, words: str, phone: str = "", email: str = "") -> Passing:
    """How the telephone or the mail program takes it. No number or mail address: it asks for one.

    The body of an sms: address as RFC 5724 leaves it to the telephone; of a mailto: address by RFC 6068."""
    words = " ".join(words.split())
    whole = escaped(f"{words} {address}", safe="")
    number = "".join(sign for sign in phone if sign.isdecimal() or sign == "+")
    mail = f"mailto:{escaped(email, safe='@')}?subject={escaped(title, safe='')}&body={whole}"
    return Passing(address, title, words, f"sms:{number}?body={whole}", mail)


def address(link: Link, page: str) -> str:
    """The whole address to send, for a page that takes a token."""
    return settings.SITE_URL + reverse(page, args=[token_of(link)])
