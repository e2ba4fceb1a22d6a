"""What every page of the books asks."""

from typing import cast

from django.http import HttpRequest

from workshop.history.actions import Actor
from workshop.staff.models import User

ROLES = ("owner", "bookkeeper")


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


def download(name: str) -> dict[str, str]:
    """The headers of a file that is saved and never shown."""
    return {
        "Cache-Control": "private, no-store",
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Security-Policy": "default-src 'none'; sandbox",
        "X-Content-Type-Options": "nosniff",
    }
