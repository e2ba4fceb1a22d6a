"""The business's own list, and its buttons."""

import uuid as uuids
from collections.abc import Callable

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from workshop.history.actions import Actor, acting
from workshop.inspections import queries as inspections
from workshop.jobs.actions import Refused
from workshop.pages.roles import for_roles, get_or_post
from workshop.rounds import actions, queries
from workshop.rounds.forms import RowForm, form_of
from workshop.rounds.models import Row
from workshop.rounds.views.common import READERS, WRITERS, writes


def found_row(uid: uuids.UUID) -> Row:
    """The row of the list or a calm 404."""
    found = queries.row(uid)
    if found is None:
        raise Http404
    return found


@get_or_post
@for_roles(*READERS)
def rows(request: HttpRequest) -> HttpResponse:
    """The list by systems. Posted to, it takes one row more."""
    if request.method != "POST":
        return list_sheet(request)
    if not writes(request):
        return list_sheet(request, refused="The list is changed by the owner or a mechanic. Nothing was changed.", status=403)
    form = RowForm(request.POST)
    if not form.is_valid():
        return list_sheet(request, form, status=422)
    try:
        made = actions.add_row(acting(request), uid=form.cleaned_data["uid"], **form.row())
    except Refused as refused:
        form.add_error(None, str(refused))
        return list_sheet(request, form, status=409)
    messages.success(request, f"On the list: {made.words}")
    return redirect(_place_of(made))


def _place_of(row: Row) -> str:
    return f"{reverse('rounds:rows')}#row-{row.pk}"


def list_sheet(request: HttpRequest, form: RowForm | None = None, refused: str = "", status: int = 200) -> HttpResponse:
    """The list, with what was refused."""
    systems = queries.by_system(queries.listed())
    context = {"systems": systems, "retired": list(queries.retired()), "form": form or RowForm(), "refused": refused}
    context |= {"works": writes(request), "named": [system for system, _ in systems]}
    return render(request, "rounds/rows.html", context, status=status)


@get_or_post
@for_roles(*WRITERS)
def list_row(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """One row of the list, to word it anew."""
    there = found_row(uid)
    if request.method != "POST":
        return row_sheet(request, there, form_of(there))
    form = RowForm(request.POST)
    if not form.is_valid():
        return row_sheet(request, there, form, status=422)
    try:
        changed = actions.change_row(acting(request), there, seen=form.cleaned_data["seen"], **form.row())
    except Refused as refused:
        form.add_error(None, str(refused))
        return row_sheet(request, found_row(uid), form, status=409)
    messages.success(request, f"On the list from now on: {changed.words}")
    return redirect(_place_of(changed))


def row_sheet(request: HttpRequest, row: Row, form: RowForm, status: int = 200) -> HttpResponse:
    """The row, its boxes and the systems there are."""
    named = [system for system, _ in queries.by_system(queries.listed())]
    return render(request, "rounds/list_row.html", {"row": row, "form": form, "named": named}, status=status)


def pressed(request: HttpRequest, verb: Callable[[Actor], Row]) -> HttpResponse:
    """Does it and shows the list where the row is, or the list with the reason why not."""
    try:
        return redirect(_place_of(verb(acting(request))))
    except Refused as refused:
        return list_sheet(request, refused=str(refused), status=409)


@require_POST
@for_roles(*WRITERS)
def take(request: HttpRequest) -> HttpResponse:
    """Takes the usual list, when there is none."""
    return pressed(request, lambda actor: actions.take_usual(actor)[0])


@require_POST
@for_roles(*WRITERS)
def move(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """One place up or down."""
    there, seen = found_row(uid), request.POST.get("seen", "")
    shown = int(seen) if seen.isascii() and seen.isdigit() and len(seen) < 9 else -1
    return pressed(request, lambda actor: actions.move_row(actor, there, request.POST.get("way", ""), seen=shown))


@require_POST
@for_roles(*WRITERS)
def retire(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Off the list."""
    there = found_row(uid)
    return pressed(request, lambda actor: actions.retire_row(actor, there))


@require_POST
@for_roles(*WRITERS)
def restore(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Back on the list."""
    there = found_row(uid)
    return pressed(request, lambda actor: actions.restore_row(actor, there))


@require_POST
@for_roles(*WRITERS)
def grow(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """What was found here is looked at on every walk-round from now on; its row opens to be worded for every vehicle."""
    finding = inspections.finding(uid)
    if finding is None:
        raise Http404
    try:
        row = actions.grow_row(acting(request), finding)
    except Refused as refused:
        return list_sheet(request, refused=str(refused), status=409)
    messages.success(request, "On the walk-round list. Word it so that it suits every vehicle.")
    return redirect("rounds:list_row", row.uid)
