"""What the views of this room share: who acts, what is found, the pictures that come with a form."""

import uuid as uuids
from typing import cast

from django.http import Http404, HttpRequest
from django.views.decorators.http import require_http_methods

from workshop.history.actions import Actor
from workshop.inspections import queries
from workshop.inspections.forms import MOST_PHOTOS
from workshop.inspections.models import Finding
from workshop.jobs import queries as jobs
from workshop.jobs.models import Card
from workshop.photos import actions as photos
from workshop.photos.models import Photo
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = jobs.card(pk)
    if card is None:
        raise Http404
    return card


def found_finding(uid: uuids.UUID) -> Finding:
    """The finding or a calm 404."""
    finding = queries.finding(uid)
    if finding is None:
        raise Http404
    return finding


def sent_pictures(request: HttpRequest) -> tuple[list[Photo], list[str]]:
    """The pictures taken before and those sent now, and a sentence for each that was not taken.

    They are developed here, before any transaction, so that nobody waits for a picture.
    """
    kept, wrong = queries.photos([uid for uid in request.POST.getlist("kept") if is_uid(uid)][:MOST_PHOTOS]), []
    for file in request.FILES.getlist("camera") + request.FILES.getlist("gallery"):
        if len(kept) >= MOST_PHOTOS:
            wrong.append(f"{str(file.name)[:60]}: more than {MOST_PHOTOS} pictures. Put it on a finding of its own.")
            continue
        try:
            kept.append(photos.take(file.read()))
        except photos.Refused as refused:
            wrong.append(f"{str(file.name)[:60]}: {refused.sentence}")
    return kept, wrong


def is_uid(text: str) -> bool:
    try:
        return bool(uuids.UUID(text))
    except ValueError:
        return False
