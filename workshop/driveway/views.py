"""The run sheet, what makes it work without signal, and the door through which a phone sends."""

import uuid
from typing import Any, cast

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from workshop import clock
from workshop.driveway import actions, queries
from workshop.pages.context import light_of
from workshop.pages.roles import for_roles
from workshop.staff.models import User

MOST_BYTES = 32 * 1024
READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")


@for_roles(*READERS)
@require_safe
def day(request: HttpRequest) -> HttpResponse:
    """Today's and tomorrow's stops, and cards that have no day."""
    on = clock.today()
    works = cast(User, request.user).role in WRITERS
    return render(request, "driveway/day.html", {"today": on, "sheet": queries.packed(queries.sheet(on)), "works": works})


@login_not_required
@require_safe
def offline(request: HttpRequest) -> HttpResponse:
    """What a phone shows for a sheet it does not keep. It names nobody."""
    return render(request, "driveway/offline.html")


@login_not_required
@require_safe
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker with the list of what it keeps. Served here and not as a static file so that it may mind all of /m/."""
    response = HttpResponse(queries.worker(), content_type="text/javascript; charset=utf-8")
    response["Service-Worker-Allowed"] = reverse("driveway:day")
    response["Cache-Control"] = "no-cache"
    return response


@login_not_required
@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    """Name, icons and first page for the phone's home screen."""
    return JsonResponse(queries.manifest(), content_type="application/manifest+json")


@for_roles(*READERS)
@never_cache
@require_safe
def today(request: HttpRequest) -> JsonResponse:
    """The addresses to keep, each with a mark that changes when the sheet does."""
    user = cast(User, request.user)
    return JsonResponse({"user": str(user.pk), "at": clock.now().isoformat(), "keep": queries.to_keep(clock.today(), light_of(request))})


@for_roles(*READERS)
@never_cache
@require_safe
def session(request: HttpRequest) -> JsonResponse:
    """Who is signed in, and the token that lets this phone write."""
    user = cast(User, request.user)
    return JsonResponse({"user": str(user.pk), "name": str(user), "csrf": get_token(request)})


@for_roles(*WRITERS)
@require_http_methods(["PUT"])
def operation(request: HttpRequest, uid: uuid.UUID) -> JsonResponse:
    """One entry of a phone's outbox: 201 with a receipt, 200 with the kept receipt for a repeat."""
    body = request.read(MOST_BYTES + 1)
    if len(body) > MOST_BYTES:
        return refusal(413, "The entry is larger than 32 kB.")
    try:
        receipt, fresh = actions.take_operation(cast(User, request.user), uid, body)
    except actions.Refused as refused:
        return refusal(refused.status, refused.sentence)
    return JsonResponse(receipt, status=201 if fresh else 200)


def refusal(status: int, sentence: str) -> JsonResponse:
    """The sentence that the phone shows beside the entry it keeps."""
    said: dict[str, Any] = {"sentence": sentence}
    return JsonResponse(said, status=status)
