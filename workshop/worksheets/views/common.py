"""What the pages of the work sheets share."""

import uuid as uuids
from typing import cast

from django.http import Http404, HttpRequest

from workshop.jobs import queries as jobs
from workshop.jobs.models import Card
from workshop.photos import actions as photos
from workshop.photos.models import Photo
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")


def role_of(request: HttpRequest) -> str:
    """The role of whoever looks."""
    return str(cast(User, request.user).role)


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = jobs.card(pk)
    if card is None:
        raise Http404
    return card


def works(request: HttpRequest, card: Card) -> bool:
    """Whether this person may write on this card now."""
    return role_of(request) in WRITERS and card.state in {Card.State.OPEN, Card.State.READY}


def named_uid(request: HttpRequest, name: str) -> uuids.UUID:
    """The uid that a button carries; one that nothing has, when it carries none."""
    try:
        return uuids.UUID(request.POST.get(name, ""))
    except ValueError:
        return uuids.UUID(int=0)


def picture(request: HttpRequest) -> tuple[Photo | None, str]:
    """The picture that was sent now or kept from before, and the sentence when it was not taken."""
    file, kept = request.FILES.get("photo"), request.POST.get("kept", "")
    if file is None:
        try:
            return (Photo.objects.filter(uid=uuids.UUID(kept)).first() if kept else None), ""
        except ValueError:
            return None, ""
    try:
        return photos.take(file.read()), ""
    except photos.Refused as refused:
        return None, f"{str(file.name)[:60]}: {refused.sentence}"
