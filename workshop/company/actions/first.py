"""The first visit: an address from the console opens one page, once, and makes the business and its owner."""

import uuid
from datetime import timedelta
from typing import Any

from django.db import transaction

from workshop import clock
from workshop.company import queries
from workshop.company.actions.business import set_up
from workshop.company.actions.common import Refused
from workshop.company.actions.people import add_person
from workshop.company.models import Company
from workshop.history.actions import Actor
from workshop.links import actions as links
from workshop.links import queries as link_queries
from workshop.links.models import Link

OPEN_FOR = timedelta(hours=24)


class Closed(Exception):
    """The address opens nothing, or nothing any more."""


@transaction.atomic
def offer_first() -> str:
    """A new address of the first page; those given before are dead. "" when the place is set up. Only the hash of its token is kept."""
    if queries.is_set_up():
        return ""
    for link in Link.objects.filter(purpose=queries.FIRST, revoked_at=None):
        links.revoke(link)
    link = links.make(queries.FIRST, uuid.uuid4(), "the owner", clock.now() + OPEN_FOR)
    return link_queries.address(link, "company:first")


@transaction.atomic
def begin(token: str, *, business: dict[str, Any], owner: dict[str, str]) -> Company:
    """Makes the business and its owner by the address's token, which is dead from then on. Of two at once, one comes through.

    Raises Closed for a token that opens nothing, Refused for a name or a password that cannot be; then nothing was made."""
    row = Link.objects.select_for_update().filter(token_sha=link_queries.token_hash(token), purpose=queries.FIRST).first()
    if row is None or not link_queries.alive(row) or queries.is_set_up():
        raise Closed
    actor = Actor.by_link(row.uid, f"{owner['first_name']} {owner['last_name']}".strip())
    try:
        company = set_up(actor, **business)
    except LookupError as unknown:
        raise Refused(str(unknown), "tax_profile_name") from unknown
    add_person(actor, role="owner", **owner)
    links.revoke(row)
    return company
