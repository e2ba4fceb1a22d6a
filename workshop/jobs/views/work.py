"""The work sheet and its buttons: clocks, hardware that goes in new, what is counted."""

import uuid as uuids
from functools import partial
from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.history.actions import acting
from workshop.jobs import actions, queries
from workshop.jobs.forms import SpellForm, counted
from workshop.jobs.models import LinePart, Spell
from workshop.jobs.views.common import READERS, WRITERS, done, found_card, work_page
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.staff.models import User


def found_part(pk: int) -> LinePart:
    """The part or a calm 404."""
    part = queries.part(pk)
    if part is None:
        raise Http404
    return part


def found_spell(uid: uuids.UUID) -> Spell:
    """The spell or a calm 404."""
    spell = queries.spell(uid)
    if spell is None:
        raise Http404
    return spell


@require_safe
@for_roles(*READERS)
def work(request: HttpRequest, pk: int) -> HttpResponse:
    """The work sheet: ordered lines with their clocks, what is open, what must go in new."""
    return work_page(request, pk)


@require_POST
@for_roles(*WRITERS)
def stop_work(request: HttpRequest, pk: int) -> HttpResponse:
    """The clock of whoever presses it stops, whichever line it runs on."""
    found_card(pk)
    verb = partial(actions.stop_spell, acting(request), cast(User, request.user))
    return done(request, pk, verb, "Your clock is stopped.")


@get_or_post
@for_roles(*WRITERS)
def spell(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The times of one person on one line, put right with a reason."""
    found = found_spell(uid)
    shown = {"started_at": found.started_at, "stopped_at": found.stopped_at}
    form = SpellForm(request.POST or None, initial=shown)
    context = {"form": form, "spell": found, "card": found.line.card}
    if request.method != "POST":
        return render(request, "jobs/spell.html", context)
    if form.is_valid():
        by, why = cast(User, request.user), form.cleaned_data["reason"]
        try:
            actions.correct_spell(acting(request), found, by=by, reason=why, **form.times(found))
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"The time on line {found.line.number} stands as you wrote it.")
            return redirect("jobs:work", found.line.card_id)
    return refuse(request, "jobs/spell.html", context)


@require_POST
@for_roles(*WRITERS)
def fitted_new(request: HttpRequest, pk: int) -> HttpResponse:
    """New ones are in, or the tick is taken back."""
    part, new = found_part(pk), "back" not in request.POST
    said = f"New ones are in: {part.counted}." if new else f"Taken back: {part.counted} are not in."
    return done(request, part.line.card_id, lambda: actions.fit_new(acting(request), part, new), said)


@require_POST
@for_roles(*WRITERS)
def in_hand(request: HttpRequest, pk: int) -> HttpResponse:
    """How many of a part are in hand."""
    part, typed = found_part(pk), request.POST.get("in_hand", "")
    number = counted(typed)
    if number is None:
        sentence = f"“{typed[:20]}” is no count of {part.words}. Write how many are in hand, from 0."
        return work_page(request, part.line.card_id, sentence, 422)
    return done(request, part.line.card_id, lambda: actions.count_in_hand(acting(request), part, number), f"Counted: {part.words}.")
