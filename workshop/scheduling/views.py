"""The sheets of a stop and of a day's round, and the calendar link."""

import uuid as uuids
from collections.abc import Callable
from datetime import date
from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_POST, require_safe

from workshop.history.actions import acting
from workshop.jobs import queries as jobs
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.links import queries as links
from workshop.pages.roles import closed_to, for_roles, get_or_post, refuse
from workshop.pages.templatetags.pages_format import moment, money
from workshop.scheduling import actions, queries
from workshop.scheduling.forms import CancelForm, RoundForm, StopForm, VisitForm, WaiveForm
from workshop.scheduling.models import Stop
from workshop.staff.models import User

PLANNERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = jobs.card(pk)
    if card is None:
        raise Http404
    return card


def found_stop(uid: uuids.UUID) -> Stop:
    """The stop or a calm 404."""
    stop = queries.stop(uid)
    if stop is None:
        raise Http404
    return stop


@get_or_post
@for_roles(*PLANNERS)
def stop(request: HttpRequest, pk: int) -> HttpResponse:
    """A new stop of a card, above the stops it has."""
    card = found_card(pk)
    form = StopForm(request.POST or None, initial=_first_guess(card))
    context = {"form": form, "card": card, "stops": queries.of_card(card), "running": card.state in {Card.State.OPEN, Card.State.READY}}
    if request.method != "POST":
        return render(request, "scheduling/stop.html", context)
    if form.is_valid():
        try:
            planned = actions.plan_stop(acting(request), card, **form.planned())
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Planned: {moment(planned.planned_at)}.")
            return redirect("scheduling:visit", planned.uid)
    return refuse(request, "scheduling/stop.html", context)


def _first_guess(card: Card) -> dict[str, Any]:
    """What is known already: the time of the enquiry when no stop was planned, and the way from the last time at this place."""
    guess: dict[str, Any] = {}
    if card.due_at and not card.stops.exists():
        guess["at"] = timezone.localtime(card.due_at)
    if last := queries.last_way(card):
        guess |= {"km_each_way": last.km_each_way, "minutes_each_way": last.minutes_each_way}
    return guess


@get_or_post
@for_roles(*PLANNERS)
def visit(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """One stop: its time and way, what its call-out costs, and the buttons that cancel or charge it."""
    planned = found_stop(uid)
    if request.method != "POST":
        return visit_sheet(request, planned)
    form = VisitForm(request.POST)
    if form.is_valid():
        try:
            kept = actions.change_stop(acting(request), planned, **form.planned())
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Kept: {moment(kept.planned_at)}.")
            return redirect("driveway:day")
    return visit_sheet(request, planned, 422, form=form)


def visit_sheet(request: HttpRequest, stop: Stop, status: int = 200, **typed: Any) -> HttpResponse:
    """The sheet of a stop, with what was typed and the sentence of what was refused."""
    context = {
        "stop": stop,
        "card": stop.card,
        "form": VisitForm(initial={**queries.facts(stop), "seen": stop.changes}),
        "cancelling": CancelForm(),
        "waiving": WaiveForm(),
    }
    context |= {"working": stop.card.state in {Card.State.OPEN, Card.State.READY} and not stop.cancelled_at}
    context |= {"works": cast(User, request.user).role in WRITERS, "charged": queries.call_out_lines(stop.card)}
    context |= typed
    try:
        context["share"] = queries.share_of(stop)
    except LookupError as unset:
        context["unpriced"] = str(unset)
    return render(request, "scheduling/visit.html", context, status=status)


def _done(request: HttpRequest, uid: uuids.UUID, verb: Callable[[Stop], object], then: Callable[[Stop], str], **typed: Any) -> HttpResponse:
    """Does what the button says; what is refused is a sentence on the stop's sheet."""
    planned = found_stop(uid)
    try:
        verb(planned)
    except Refused as refused:
        return visit_sheet(request, found_stop(uid), 409, refused=str(refused), **typed)
    return redirect(then(planned))


def _run_sheet(stop: Stop) -> str:
    return reverse("driveway:day")


def _seen(request: HttpRequest) -> int:
    """How often the stop was changed when the page showed it; -1, which never fits, when the page does not say."""
    typed = request.POST.get("seen", "")
    return int(typed) if typed.isascii() and typed.isdecimal() and len(typed) < 10 else -1


@require_POST
@for_roles(*PLANNERS)
def move(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """One place earlier or later on the day."""
    way = request.POST.get("way", "")
    return _done(request, uid, lambda stop: actions.move_stop(acting(request), stop, way, seen=_seen(request)), _run_sheet)


@require_POST
@for_roles(*WRITERS)
def finish(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """We were there, or not yet after all."""
    done = request.POST.get("done") != "no"
    return _done(request, uid, lambda stop: actions.finish_stop(acting(request), stop, done=done), _run_sheet)


@require_POST
@for_roles(*PLANNERS)
def cancel(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """We do not go, and why."""
    form = CancelForm(request.POST)
    if not form.is_valid():
        return visit_sheet(request, found_stop(uid), 422, cancelling=form)
    reason = form.cleaned_data["reason"]
    return _done(request, uid, lambda stop: actions.cancel_stop(acting(request), stop, reason), _run_sheet, cancelling=form)


@require_POST
@for_roles(*WRITERS)
def charge(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The call-out as a draft line of the card."""

    def verb(stop: Stop) -> None:
        line = actions.charge_call_out(acting(request), stop, shown=request.POST.get("shown", ""))
        messages.success(request, f"Line {line.number} is on the card: call-out, {money(line.fixed_amount)} net.")

    return _done(request, uid, verb, lambda stop: reverse("jobs:card", args=[stop.card_id]))


@require_POST
@for_roles(*WRITERS)
def waive(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Nobody pays for this stop, and why; or, with charge, somebody does after all."""
    form = WaiveForm(request.POST)
    if request.POST.get("charge") == "yes":
        return _done(request, uid, lambda stop: actions.charge_again(acting(request), stop), _sheet_of)
    if not form.is_valid():
        return visit_sheet(request, found_stop(uid), 422, waiving=form)
    reason = form.cleaned_data["reason"]
    return _done(request, uid, lambda stop: actions.waive_charge(acting(request), stop, reason), _sheet_of, waiving=form)


def _sheet_of(stop: Stop) -> str:
    return reverse("scheduling:visit", args=[stop.uid])


@get_or_post
@for_roles(*PLANNERS)
def round(request: HttpRequest, day: str) -> HttpResponse:
    """What was really driven on a day, split between its stops."""
    on = _day(day)
    driven = queries.round_of(on)
    if request.method == "POST" and cast(User, request.user).role not in WRITERS:
        return closed_to(request, WRITERS)
    form = RoundForm(request.POST or None, initial={"km": driven.km, "minutes": driven.minutes} if driven else {})
    if request.method == "POST" and form.is_valid():
        try:
            actions.set_round(acting(request), on, **form.driven())
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "Written down. The split stands below.")
            return redirect("scheduling:round", day)
    context = {"day": on, "driven": driven, "form": form, "seen": actions.seen_of_round(driven), **_split(on)}
    context["works"] = cast(User, request.user).role in WRITERS
    return render(request, "scheduling/round.html", context, status=422 if form.errors else 200)


def _day(typed: str) -> date:
    try:
        day = parse_date(typed)
    except ValueError as wrong:
        raise Http404 from wrong
    if day is None:
        raise Http404
    return day


def _split(day: date) -> dict[str, Any]:
    """The stops with their prices, or without a rule the stops and the sentence."""
    try:
        shares = queries.shares(day)
    except LookupError as unset:
        return {"shares": [], "unpriced": str(unset)}
    stops = [share.stop for share in shares]
    return {"shares": shares, "alone_km": queries.alone_km(stops), "alone_minutes": queries.alone_minutes(stops)}


@require_safe
@for_roles(*WRITERS)
def calendar(request: HttpRequest) -> HttpResponse:
    """The person's calendar link, to be shown, made and taken back."""
    kept = queries.calendar_link(cast(User, request.user))
    address = links.address(kept.link, "scheduling:feed") if kept else ""
    return render(request, "scheduling/calendar.html", {"kept": kept, "address": address})


@require_POST
@for_roles(*WRITERS)
def calendar_make(request: HttpRequest) -> HttpResponse:
    """A link for this person."""
    actions.make_calendar(acting(request), cast(User, request.user))
    return redirect("scheduling:calendar")


@require_POST
@for_roles(*WRITERS)
def calendar_revoke(request: HttpRequest) -> HttpResponse:
    """The link leads nowhere from now on."""
    actions.revoke_calendar(acting(request), cast(User, request.user))
    messages.success(request, "The link leads nowhere now. Calendars that read it show the old stops until you delete it there.")
    return redirect("scheduling:calendar")
