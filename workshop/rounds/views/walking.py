"""A walk on a card: its sheet, one tap a row, and what is written down."""

import uuid as uuids
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from workshop.history.actions import acting
from workshop.jobs import queries as jobs
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.pages.roles import for_roles, get_or_post
from workshop.photos import actions as photos
from workshop.rounds import actions, queries
from workshop.rounds.forms import MOST_PHOTOS, FoundForm, found_form
from workshop.rounds.models import Round, RoundRow
from workshop.rounds.views.common import READERS, WRITERS, writes

OVER = {Card.State.CLOSED, Card.State.CANCELLED}


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = jobs.card(pk)
    if card is None:
        raise Http404
    return card


def found_walk(uid: uuids.UUID) -> Round:
    """The walk-round or a calm 404."""
    walk = queries.walk_round(uid)
    if walk is None:
        raise Http404
    return walk


def found_row(pk: int) -> RoundRow:
    """The row of a walk-round or a calm 404."""
    row = queries.round_row(pk)
    if row is None:
        raise Http404
    return row


@require_safe
@for_roles(*READERS)
def walk(request: HttpRequest, pk: int) -> HttpResponse:
    """The newest walk-round of the card, or the one that is asked for, its rows by system."""
    return walk_sheet(request, found_card(pk), request.GET.get("walk", ""))


def walk_sheet(request: HttpRequest, card: Card, asked: str = "", refused: str = "", status: int = 200) -> HttpResponse:
    """The walk-round with what was refused; before the first one, the button that begins it."""
    walks = list(queries.rounds_of(card))
    shown = next((each for each in walks if str(each.uid) == asked), walks[0] if walks else None)
    over = card.state in OVER
    context: dict[str, Any] = {"card": card, "walk": shown, "walks": walks, "refused": refused, "over": over}
    context["systems"] = _marked(queries.rows_of(shown)) if shown else []
    context["begins"] = writes(request) and not over and not any(each.ended_at is None for each in walks)
    context["works"] = writes(request) and not over and shown is not None and shown.ended_at is None
    return render(request, "rounds/walk.html", context, status=status)


def _marked(rows: list[RoundRow]) -> list[tuple[str, list[RoundRow], int]]:
    """The rows by system, and how many of each nobody looked at."""
    unseen = RoundRow.State.UNSEEN
    return [(system, group, sum(row.state == unseen for row in group)) for system, group in queries.by_system(rows)]


@require_POST
@for_roles(*WRITERS)
def begin(request: HttpRequest, pk: int) -> HttpResponse:
    """Begins a walk-round, or opens the one that goes on."""
    card = found_card(pk)
    try:
        actions.begin_round(acting(request), card)
    except Refused as refused:
        return walk_sheet(request, card, refused=str(refused), status=409)
    return redirect("rounds:walk", card.pk)


@require_POST
@for_roles(*WRITERS)
def judge(request: HttpRequest, pk: int) -> HttpResponse:
    """Good, not applicable or back, in one tap. The piece of the row for htmx, else the sheet where the row is."""
    row, refused = found_row(pk), ""
    was, state = row.state, request.POST.get("state", "")
    try:
        if actions.judge_row(acting(request), row, state):
            row.state, row.finding = state, None
            row.unseen += (state == RoundRow.State.UNSEEN) - (was == RoundRow.State.UNSEEN)
    except Refused as why:
        refused = str(why)
    return _answered(request, row, refused)


def _answered(request: HttpRequest, row: RoundRow, refused: str) -> HttpResponse:
    """After a tap. A refusal is said in the row, or on the sheet; the row stands as it is now."""
    status, card = 409 if refused else 200, row.round.card
    if not request.htmx:  # type: ignore[attr-defined]
        there = f"{reverse('rounds:walk', args=[card.pk])}#row-{row.pk}"
        return walk_sheet(request, card, str(row.round.uid), refused, status) if refused else redirect(there)
    if refused:
        row = found_row(row.pk)
    works = row.round.ended_at is None and card.state not in OVER
    return render(request, "rounds/_tapped.html", {"row": row, "refused": refused, "works": works}, status=status)


@require_POST
@for_roles(*WRITERS)
def rest(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The rest of one system is good."""
    walk, system = found_walk(uid), request.POST.get("system", "")
    try:
        changed = actions.judge_rest(acting(request), walk, system)
    except Refused as refused:
        return walk_sheet(request, walk.card, str(uid), str(refused), 409)
    rows = queries.rows_of(walk)
    place = next((row.pk for row in rows if row.system == system), None)
    if changed:
        messages.success(request, f"{system}: {changed} more good.")
    return redirect(reverse("rounds:walk", args=[walk.card_id]) + (f"#row-{place}" if place else ""))


@get_or_post
@for_roles(*WRITERS)
def row(request: HttpRequest, pk: int) -> HttpResponse:
    """What is not simply good, written down as a finding with pictures."""
    row = found_row(pk)
    if request.method != "POST":
        return found_sheet(request, row, found_form(row))
    form = FoundForm(request.POST)
    kept, wrong = photos.take_sent(request, MOST_PHOTOS, "Put it on a finding of its own.")
    if not form.is_valid() or wrong:
        return found_sheet(request, row, form, 422, kept=kept, photo_errors=wrong)
    try:
        actions.write_down(acting(request), row, photos=kept, **form.cleaned_data)
    except Refused as refused:
        form.add_error(None, str(refused))
        return found_sheet(request, found_row(pk), form, 409, kept=kept)
    return redirect(f"{reverse('rounds:walk', args=[row.round.card_id])}#row-{row.pk}")


def found_sheet(request: HttpRequest, row: RoundRow, form: FoundForm, status: int = 200, **pictures: Any) -> HttpResponse:
    """The row and its boxes."""
    card = row.round.card
    works = row.round.ended_at is None and card.state not in OVER
    return render(request, "rounds/row.html", {"row": row, "form": form, "card": card, "works": works, **pictures}, status=status)


@require_POST
@for_roles(*WRITERS)
def end(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The walk is over, and what nobody looked at is said."""
    walk = found_walk(uid)
    try:
        ended = actions.end_round(acting(request), walk)
    except Refused as refused:
        return walk_sheet(request, walk.card, str(uid), str(refused), 409)
    left = f" {ended.unseen} not looked at: they stay so." if ended.unseen else " Every row was looked at."
    messages.success(request, f"Walk-round ended.{left}")
    return redirect("rounds:walk", walk.card_id)
