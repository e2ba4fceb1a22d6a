"""What the views of this room share: who may read and who may write."""

from typing import cast

from django.http import HttpRequest

from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")


def writes(request: HttpRequest) -> bool:
    """Whether whoever looks may also press."""
    return cast(User, request.user).role in WRITERS
