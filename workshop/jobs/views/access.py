"""Opening up and closing; the strip; leaving the vehicle and coming back to it."""

import uuid as uuids
from functools import partial
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from workshop.calc.labour import SetPrice
from workshop.history.actions import acting
from workshop.jobs import actions, queries
from workshop.jobs.forms import BackForm, LeaveForm, StripForm
from workshop.jobs.models import Card, CardStep, Episode
from workshop.jobs.views.common import WRITERS, done, found_card, posted_uid
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.pages.templatetags.pages_format import money
from workshop.photos import actions as photos

MOST_PICTURES = 6


def found_step(uid: uuids.UUID) -> CardStep:
    """The step or a calm 404."""
    step = queries.step(uid)
    if step is None:
        raise Http404
    return step


def found_opening(uid: uuids.UUID) -> Episode:
    """The opening or a calm 404."""
    opening = queries.opening(uid)
    if opening is None:
        raise Http404
    return opening


@require_POST
@for_roles(*WRITERS)
def open_step(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A step goes open."""
    step, typed = found_step(uid), {name: request.POST.get(name, "").replace("\x00", "") for name in ("bags", "cause")}
    verb = partial(actions.open_step, acting(request), step, uid=posted_uid(request), **typed)
    return done(request, step.card_id, verb, f"Open: {step}.")


@require_POST
@for_roles(*WRITERS)
def bags(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The numbers of the bags with what came off."""
    opening, numbers = found_opening(uid), request.POST.get("bags", "").replace("\x00", "")
    verb = partial(actions.bag_step, acting(request), opening, numbers)
    return done(request, opening.step.card_id, verb, f"Bags of {opening.step} written down.")


@get_or_post
@for_roles(*WRITERS)
def covers(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Before the covers of a step go on: a photo of what they hide, or why there is none."""
    opening = found_opening(uid)
    card = opening.step.card
    context: dict[str, Any] = {"opening": opening, "card": card, "why": request.POST.get("why", "").replace("\x00", "")}
    if request.method != "POST":
        return render(request, "jobs/covers.html", context)
    context["kept"], context["photo_errors"] = photos.take_sent(request, 1)
    if context["photo_errors"]:
        return refuse(request, "jobs/covers.html", context)
    try:
        actions.begin_closing(acting(request), opening, next(iter(context["kept"]), None), context["why"])
    except actions.Refused as refused:
        return refuse(request, "jobs/covers.html", {**context, "refused": str(refused)})
    messages.success(request, f"Closing: {opening.step}. Say on the work sheet when it is closed.")
    return redirect("jobs:work", card.pk)


@require_POST
@for_roles(*WRITERS)
def closed(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The covers of a step are on."""
    opening = found_opening(uid)
    return done(request, opening.step.card_id, lambda: actions.end_closing(acting(request), opening), f"Closed: {opening.step}.")


@get_or_post
@for_roles(*WRITERS)
def strip_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A strip: what is opened to look, and what is owed if it stops there."""
    card = found_card(pk)
    reckons = "reckon" in request.POST
    form = StripForm(card, request.POST or None)
    context: dict[str, Any] = {"form": form, "card": card, "steps": list(queries.steps_of(card))}
    if request.method != "POST":
        return render(request, "jobs/strip_new.html", context)
    good = form.is_valid()
    if "steps" not in form.errors:
        context |= _price(card, list(form.cleaned_data["steps"]))
    if reckons and "steps" not in form.errors:
        unfinished = StripForm(card, initial={**request.POST.dict(), "steps": request.POST.getlist("steps")})
        return render(request, "jobs/strip_new.html", {**context, "form": unfinished})
    if not good:
        return refuse(request, "jobs/strip_new.html", context)
    typed = form.cleaned_data
    try:
        line = actions.add_strip(
            acting(request), card, words=typed["words"], why=typed["why"], steps=list(typed["steps"]), uid=typed["uid"]
        )
    except actions.Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "jobs/strip_new.html", context)
    price: SetPrice | None = context.get("price")
    owed = f" Stopped after opening it is {money(price.net)} net, {money(price.gross)} with tax." if price else ""
    messages.success(request, f"Strip, line {line.number}, is on the card.{owed}")
    return redirect("jobs:card", pk)


def _price(card: Card, chosen: list[CardStep]) -> dict[str, Any]:
    """What a strip of these steps costs when it stops there, and what opening uses up; a sentence where no rate is set."""
    try:
        price = queries.stop_here(card, chosen)
    except LookupError as unset:
        return {"unpriced": str(unset)}
    keys = {line.key for line in price.lines}
    steps = [step for step in queries.steps_of(card) if queries.step_key(step) in keys]
    return {"price": price, "opened": steps, "used_up": [step for step in steps if step.material_words]}


@get_or_post
@for_roles(*WRITERS)
def leave(request: HttpRequest, pk: int) -> HttpResponse:
    """The vehicle is left alone; while it is, how it was left and the look that coming back starts with."""
    card = found_card(pk)
    leaving = queries.left_now(card)
    form = LeaveForm(request.POST or None)
    context: dict[str, Any] = {"form": form, "card": card, "leaving": leaving, "back": BackForm()}
    if request.method != "POST":
        return render(request, "jobs/leave.html", context)
    context["kept"], context["photo_errors"] = photos.take_sent(request, MOST_PICTURES)
    if not form.is_valid() or context["photo_errors"]:
        return refuse(request, "jobs/leave.html", {**context, "leaving": None})
    try:
        actions.leave_vehicle(acting(request), card, photos=context["kept"], **form.leaving())
    except actions.Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "jobs/leave.html", context)
    messages.success(request, "Written down how it is left. All clocks on this card are stopped.")
    return redirect("jobs:card", pk)


@require_POST
@for_roles(*WRITERS)
def come_back(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Somebody looked at the vehicle that was left."""
    leaving = queries.leaving(uid)
    if leaving is None:
        raise Http404
    form = BackForm(request.POST)
    kept, wrong = photos.take_sent(request, MOST_PICTURES)
    context = {"card": leaving.card, "leaving": leaving, "back": form, "kept": kept, "photo_errors": wrong, "form": LeaveForm()}
    if form.is_valid() and not wrong:
        try:
            actions.come_back(acting(request), leaving, photos=kept, **form.cleaned_data)
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Written down how it was found. Work goes on.")
            return redirect("jobs:work", leaving.card_id)
    return refuse(request, "jobs/leave.html", context)
