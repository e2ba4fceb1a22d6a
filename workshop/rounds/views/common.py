"""What the views of this room share: who acts, who may, the pictures that come with a form."""

import uuid as uuids
from typing import cast

from django.http import HttpRequest
from django.views.decorators.http import require_http_methods

from workshop.history.actions import Actor
from workshop.inspections import queries as inspections
from workshop.photos import actions as photos
from workshop.photos.models import Photo
from workshop.rounds.forms import MOST_PHOTOS
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


def writes(request: HttpRequest) -> bool:
    """Whether whoever looks may also press."""
    return cast(User, request.user).role in WRITERS


def sent_pictures(request: HttpRequest) -> tuple[list[Photo], list[str]]:
    """The pictures taken before and those sent now, developed outside any transaction, and a sentence for each that was not taken."""
    kept, wrong = inspections.photos([uid for uid in request.POST.getlist("kept") if _is_uid(uid)][:MOST_PHOTOS]), []
    for file in request.FILES.getlist("camera") + request.FILES.getlist("gallery"):
        if len(kept) >= MOST_PHOTOS:
            wrong.append(f"{str(file.name)[:60]}: more than {MOST_PHOTOS} pictures. Put it on a finding of its own.")
            continue
        try:
            kept.append(photos.take(file.read()))
        except photos.Refused as refused:
            wrong.append(f"{str(file.name)[:60]}: {refused.sentence}")
    return kept, wrong


def _is_uid(text: str) -> bool:
    try:
        return bool(uuids.UUID(text))
    except ValueError:
        return False
