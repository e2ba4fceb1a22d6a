"""What the views of this room share: who acts, what is found, the pictures that come with a form."""

import uuid as uuids

from django.http import Http404, HttpRequest

from workshop.inspections import queries
from workshop.inspections.forms import MOST_PHOTOS
from workshop.inspections.models import Finding
from workshop.jobs import queries as jobs
from workshop.jobs.models import Card
from workshop.photos import actions as photos
from workshop.photos.models import Photo

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")


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
    """The pictures that came with a form of a finding or an intake, as photos.actions.take_sent."""
    return photos.take_sent(request, MOST_PHOTOS, "Put it on a finding of its own.")
