"""Make and revoke links. What they are for is recorded by the verb that makes them."""

import uuid
from datetime import datetime

from django.db import transaction

from workshop import clock
from workshop.links import queries
from workshop.links.models import Link

EVENTS: dict[str, str] = {}


@transaction.atomic
def make(purpose: str, subject_uid: uuid.UUID, for_whom: str, expires_at: datetime) -> Link:
    """A new link. Its address: queries.address(link, page)."""
    link = Link(
        uid=uuid.uuid4(), purpose=purpose, subject_uid=subject_uid, for_whom=for_whom, created_at=clock.now(), expires_at=expires_at
    )
    link.token_sha = queries.token_hash(queries.token_of(link))
    link.save()
    return link


@transaction.atomic
def revoke(link: Link) -> None:
    """From now on the link shows a calm page without the vehicle."""
    Link.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=clock.now())
