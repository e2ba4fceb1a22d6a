"""The look at the place, and how the vehicle came."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from workshop.history.actions import acting
from workshop.inspections import actions, queries
from workshop.inspections.forms import CheckInForm, IntakeForm, SiteCheckForm
from workshop.inspections.views.common import READERS, WRITERS, found_card, sent_pictures
from workshop.jobs.actions import Refused
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.photos import actions as photos
from workshop.photos import queries as find_photos
from workshop.photos.models import Photo


@get_or_post
@for_roles(*WRITERS)
def site_check(request: HttpRequest, pk: int) -> HttpResponse:
    """May we work here?"""
    card = found_card(pk)
    form = SiteCheckForm(request.POST or None, initial=queries.called_before(acting(request).name))
    here = queries.cautions("jacking", "traffic")
    more = [row for row in queries.listed("cautions") if row not in here]
    context = {"form": form, "card": card, "cautions": here, "more": more, "last": queries.last_site_check(card)}
    if request.method != "POST":
        return render(request, "inspections/site_check.html", context)
    if not form.is_valid():
        return refuse(request, "inspections/site_check.html", context)
    try:
        check = actions.check_site(acting(request), card, **form.check())
    except Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "inspections/site_check.html", context)
    messages.success(request, f"Written down: {check.get_verdict_display()}.")
    return redirect("jobs:card", card.pk)


@require_POST
@for_roles(*READERS)
def check_in(request: HttpRequest, pk: int) -> HttpResponse:
    """All is well: moves the check-in on, or ends it. Whoever got the call may press it too."""
    card = found_card(pk)
    last, form = queries.last_site_check(card), CheckInForm(request.POST)
    if last is None or not form.is_valid():
        messages.warning(request, "Not checked in: the page is an old one. Look at the time again and press once more.")
        return redirect("jobs:card", card.pk)
    check = actions.check_in(acting(request), last, form.cleaned_data["due"], form.cleaned_data["minutes"])
    then = f"Check in again by {timezone.localtime(check.check_in_at):%H:%M}." if check.check_in_at else "No check-in is due any more."
    messages.success(request, then)
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
    context["kept"], context["photo_errors"] = sent_pictures(request)
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
    kept = find_photos.by_uids(request.POST.getlist("kept_meter")[:1])
    file = request.FILES.get("meter")
    if file is None:
        return (kept[0] if kept else None), []
    try:
        return photos.take(file.read()), []
    except photos.Refused as refused:
        return None, [f"{str(file.name)[:60]}: {refused.sentence}"]
