"""What a page opened by a link tells the browser: keep no copy, tell nobody where you came from, list it nowhere."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.views.decorators.debug import sensitive_variables

type View = Callable[..., HttpResponse]

LINK_HEADERS = {
    "Referrer-Policy": "no-referrer",
    "X-Robots-Tag": "noindex, nofollow, noarchive",
    "Cache-Control": "no-store",
}


def client_address(request: HttpRequest) -> str:
    """Where a request came from: behind our own proxy what that proxy wrote last into X-Forwarded-For, otherwise the caller's address."""
    if settings.BEHIND_PROXY and (told := request.headers.get("X-Forwarded-For")):
        return told.rpartition(",")[2].strip()
    return str(request.META.get("REMOTE_ADDR", ""))


def public_headers(view: View) -> View:
    """For pages by link: open without sign-in, and with LINK_HEADERS on every answer."""

    @wraps(view)
    @sensitive_variables("token")
    def by_link(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        response = view(request, *args, **kwargs)
        for name, value in LINK_HEADERS.items():
            response[name] = value
        return response

    by_link.by_link = True  # type: ignore[attr-defined]
    return login_not_required(by_link)
