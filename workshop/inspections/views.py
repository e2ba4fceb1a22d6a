"""The mechanic's sheets of a place and of findings."""

import uuid as uuids
from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop.history.actions import Actor
from workshop.inspections import actions, queries
from workshop.inspections.forms import MOST_PHOTOS, CauseForm, FindingForm, IntakeForm, SiteCheckForm
from workshop.inspections.models import Finding
from workshop.jobs import queries as jobs
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.pages.roles import for_roles, refuse
from workshop.photos import actions as photos
from workshop.photos.models import Photo
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = jobs.card(pk)
    if card is None:
        raise Http404
    return card


def found_finding(uid: uuids.UUID) -> Finding:
    """The finding or a calm 404."""
    finding = queries.finding(uid)
    if finding is None:
        raise Http404
    return finding


@get_or_post
@for_roles(*WRITERS)
def site_check(request: HttpRequest, pk: int) -> HttpResponse:
    """May we work here?"""
    card = found_card(pk)
    form = SiteCheckForm(request.POST or None)
    here = queries.cautions("jacking", "traffic")
    more = [row for row in queries.listed("cautions") if row not in here]
    context = {"form": form, "card": card, "cautions": here, "more": more, "last": queries.last_site_check(card)}
    if request.method != "POST":
        return render(request, "inspections/site_check.html", context)
    if not form.is_valid():
        return refuse(request, "inspections/site_check.html", context)
    try:
        check = actions.check_site(acting(request), card, **form.cleaned_data)
    except Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "inspections/site_check.html", context)
    messages.success(request, f"Written down: {check.get_verdict_display()}.")
    return redirect("jobs:card", card.pk)


@get_or_post
@for_roles(*READERS)
def intake(request: HttpRequest, pk: int) -> HttpResponse:
    """How the vehicle came. What was written last stands in the boxes; pictures that were taken stay when a box is refused."""
    card = found_card(pk)
    last = queries.last_intake(card)
    form = IntakeForm(request.POST or None, initial={name: getattr(last, name) for name in actions.INTAKE} if last else {})
    context: dict[str, Any] = {"form": form, "card": card, "last": last}
    if request.method != "POST":
        return render(request, "inspections/intake.html", context)
    context["kept"], context["photo_errors"] = _pictures(request)
    context["kept_meter"], wrong = _meter_picture(request)
    context["photo_errors"] += wrong
    if not form.is_valid() or context["photo_errors"]:
        return refuse(request, "inspections/intake.html", context)
    try:
        pictures = {"photos": context["kept"], "meter_photo": context["kept_meter"]}
        taken = actions.take_intake(acting(request), card, **form.intake(), **pictures)
    except Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "inspections/intake.html", context)
    for reading in (taken.km, taken.hours):
        if reading and reading.held_reason:
            messages.warning(request, f"{reading} is held. {reading.held_reason} Say why in the vehicle book.")
    messages.success(request, "Written down how it came.")
    return redirect("jobs:card", card.pk)


def _meter_picture(request: HttpRequest) -> tuple[Photo | None, list[str]]:
    """The picture of the meter, sent now or kept from before, and the sentence when it was not taken."""
    kept = queries.photos([uid for uid in request.POST.getlist("kept_meter") if _is_uid(uid)][:1])
    file = request.FILES.get("meter")
    if file is None:
        return (kept[0] if kept else None), []
    try:
        return photos.take(file.read()), []
    except photos.Refused as refused:
        return None, [f"{str(file.name)[:60]}: {refused.sentence}"]


@get_or_post
@for_roles(*WRITERS)
def finding_new(request: HttpRequest, pk: int) -> HttpResponse:
    """One finding, with pictures. Pictures that were taken stay when a box is refused."""
    card = found_card(pk)
    form = FindingForm(request.POST or None)
    context: dict[str, Any] = {"form": form, "card": card}
    if request.method != "POST":
        return render(request, "inspections/finding_new.html", context)
    context["kept"], context["photo_errors"] = _pictures(request)
    if not form.is_valid() or context["photo_errors"]:
        return refuse(request, "inspections/finding_new.html", context)
    try:
        finding = actions.add_finding(acting(request), card, **form.finding(context["kept"]))
    except Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "inspections/finding_new.html", context)
    messages.success(request, f"Finding saved: {finding.words}")
    return redirect("jobs:card", card.pk)


def _pictures(request: HttpRequest) -> tuple[list[Photo], list[str]]:
    """The pictures taken before and those sent now, and a sentence for each that was not taken.

    They are developed here, before any transaction, so that nobody waits for a picture.
    """
    kept, wrong = queries.photos([uid for uid in request.POST.getlist("kept") if _is_uid(uid)][:MOST_PHOTOS]), []
    for file in request.FILES.getlist("camera") + request.FILES.getlist("gallery"):
        if len(kept) >= MOST_PHOTOS:
            wrong.append(f"{str(file.name)[:60]}: more than {MOST_PHOTOS} pictures. Put it on a finding of its own.")
            continue
        try:
            kept.append(photos.take(file.read()))
        except photos.Refused as refused:
            wrong.append(f"{str(file.name)[:60]}: {refused.sentence}")
    return kept, wrong


def _is_uid(text: str) -> bool:
    try:
        return bool(uuids.UUID(text))
    except ValueError:
        return False


@require_safe
@for_roles(*READERS)
def finding(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """One finding, its pictures, what caused it and what is done about it."""
    return finding_sheet(request, found_finding(uid))


def finding_sheet(
    request: HttpRequest, finding: Finding, form: CauseForm | None = None, refused: str = "", status: int = 200
) -> HttpResponse:
    """The finding, with what was refused."""
    works = cast(User, request.user).role in WRITERS and finding.card.state == Card.State.OPEN
    context = {"finding": finding, "form": form or CauseForm(finding), "others": list(queries.others(finding)), "works": works}
    return render(request, "inspections/finding.html", {**context, "refused": refused}, status=status)


@require_POST
@for_roles(*WRITERS)
def link(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Says which other finding caused this one."""
    effect = found_finding(uid)
    form = CauseForm(effect, request.POST)
    if form.is_valid():
        try:
            actions.link_cause(acting(request), effect, form.cleaned_data["cause"], form.cleaned_data["confidence"])
        except Refused as refused:
            form.add_error("cause", str(refused))
        else:
            return redirect("inspections:finding", effect.uid)
    return finding_sheet(request, effect, form, status=422)


@require_POST
@for_roles(*WRITERS)
def mend(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Makes a draft line of the finding and opens it for minutes and prices. Pressed twice it opens the line that is there."""
    finding = found_finding(uid)
    there = finding.lines.first()
    if there:
        return redirect("jobs:line", there.line.uid)
    try:
        line = actions.line_from_finding(acting(request), finding)
    except Refused as refused:
        return finding_sheet(request, finding, refused=str(refused), status=409)
    return redirect("jobs:line", line.uid)
