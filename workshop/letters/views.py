"""The out-tray: what has not gone, and what went."""

import uuid as uuids
from typing import cast

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.history.actions import acting
from workshop.letters import actions, queries
from workshop.letters.models import Letter
from workshop.pages.roles import for_roles
from workshop.staff.models import User

WRITERS = ("owner", "office")
READERS = ("owner", "office", "mechanic")
ON_A_PAGE = 50


@require_safe
@for_roles(*READERS)
def tray(request: HttpRequest) -> HttpResponse:
    """Letters that have not gone, oldest first, or with `?show=sent` those that went, newest first."""
    gone = request.GET.get("show") == "sent"
    sheet = Paginator(queries.sent() if gone else queries.waiting(), ON_A_PAGE).get_page(request.GET.get("page"))
    context = {"sheet": sheet, "gone": gone, "writes": cast(User, request.user).role in WRITERS, "at_once": actions.AT_ONCE}
    return render(request, "letters/tray.html", context)


@require_POST
@for_roles(*WRITERS)
def send(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Tries a letter once more. One that went meanwhile is not sent again."""
    letter = actions.send(acting(request), get_object_or_404(Letter, uid=uid))
    if letter.state == Letter.State.SENT:
        messages.success(request, f"“{letter.subject}” went to {letter.to}.")
    else:
        messages.error(request, f"“{letter.subject}” did not go: {letter.trouble or 'somebody else is sending it'}.")
    return redirect("letters:tray")


@require_POST
@for_roles(*WRITERS)
def send_waiting(request: HttpRequest) -> HttpResponse:
    """Tries the oldest letters that have not gone, so many at once that the page answers in time."""
    tried = actions.send_waiting(acting(request))
    went = sum(letter.state == Letter.State.SENT for letter in tried)
    (messages.success if went == len(tried) else messages.error)(request, f"{went} of {len(tried)} went.")
    return redirect("letters:tray")
