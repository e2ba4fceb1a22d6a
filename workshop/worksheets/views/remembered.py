"""Deviations and follow-ups."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from workshop.history.actions import acting
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.pages.boxes import LOST
from workshop.pages.roles import closed_to, for_roles, get_or_post, refuse
from workshop.vehicles import queries as vehicles
from workshop.worksheets import actions, queries
from workshop.worksheets.forms import CloseForm, DeviationForm, FollowUpForm
from workshop.worksheets.models import FollowUp
from workshop.worksheets.queries.remembered import RECHECK_KM, RECHECK_WHY
from workshop.worksheets.views.common import READERS, WRITERS, found_card, named_uid, role_of, works


@get_or_post
@for_roles(*WRITERS)
def deviation_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Something was fitted or set otherwise than the maker says."""
    card = found_card(pk)
    form = DeviationForm(card, request.POST or None, initial={name: request.GET.get(name, "")[:18] for name in ("line", "joint")})
    context: dict[str, Any] = {"form": form, "card": card, "there": queries.deviations_of(card.vehicle)}
    if request.method != "POST":
        return render(request, "worksheets/deviation_new.html", context)
    if form.is_valid():
        try:
            actions.add_deviation(acting(request), card, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The deviation is written down. It is printed on the hand-over sheet.")
            return redirect("jobs:card", card.pk)
    return refuse(request, "worksheets/deviation_new.html", context)


@get_or_post
@for_roles(*READERS)
def follow_ups(request: HttpRequest, pk: int) -> HttpResponse:
    """What is to be looked at again on the card's vehicle, and a new one. `?wheels=1` fills in the usual one after wheels were off."""
    card = found_card(pk)
    if request.method == "POST" and role_of(request) not in WRITERS:
        return closed_to(request, WRITERS)
    run = {"km": vehicles.run(card.vehicle, "km"), "h": vehicles.run(card.vehicle, "h")}
    usual = {"words": queries.RECHECK, "why": RECHECK_WHY, "after_km": RECHECK_KM if run["km"] is not None else ""}
    form = FollowUpForm(run, request.POST or None, initial=usual if request.GET.get("wheels") else {})
    if request.method != "POST":
        return render(request, "worksheets/follow_ups.html", _follow_ups(request, card, form))
    if form.is_valid():
        try:
            actions.add_follow_up(acting(request), card, form.what(), uid=form.cleaned_data["uid"])
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Kept. It comes back on the vehicle's next card, and on the desk when it is due.")
            return redirect("worksheets:follow_ups", card.pk)
    return refuse(request, "worksheets/follow_ups.html", _follow_ups(request, card, form))


def _follow_ups(
    request: HttpRequest, card: Card, form: FollowUpForm, refused: FollowUp | None = None, closing: CloseForm | None = None
) -> dict[str, Any]:
    rows = [
        (one, closing if one == refused and closing else CloseForm(auto_id=f"id_{one.pk}_%s"))
        for one in queries.follow_ups_of(card.vehicle)
    ]
    gone = [one for one in queries.of_card(card) if one.state != FollowUp.State.OPEN]
    return {"card": card, "form": form, "rows": rows, "gone": gone, "works": works(request, card), "closing": closing}


@require_POST
@for_roles(*WRITERS)
def close_follow_up(request: HttpRequest, pk: int) -> HttpResponse:
    """It was done, or the customer refused it."""
    card, one = found_card(pk), queries.follow_up(named_uid(request, "follow_up"))
    form = CloseForm(request.POST, auto_id=f"id_{one.pk if one else 0}_%s")
    if one is None:
        form.add_error(None, LOST)
    elif form.is_valid():
        try:
            actions.close_follow_up(acting(request), card, one, form.cleaned_data["state"], form.cleaned_data["words"])
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Closed: {one.words}")
            return redirect("worksheets:follow_ups", card.pk)
    run = {"km": vehicles.run(card.vehicle, "km"), "h": vehicles.run(card.vehicle, "h")}
    return refuse(request, "worksheets/follow_ups.html", _follow_ups(request, card, FollowUpForm(run), one, form))
