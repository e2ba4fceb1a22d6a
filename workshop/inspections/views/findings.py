"""The sheet of a finding, and its buttons."""

import uuid as uuids
from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.history.actions import acting
from workshop.inspections import actions, queries
from workshop.inspections.forms import CauseForm, FindingForm, RoleForm
from workshop.inspections.models import Finding, FindingPhoto
from workshop.inspections.views.common import READERS, WRITERS, found_card, found_finding, sent_pictures
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.staff.models import User


@get_or_post
@for_roles(*WRITERS)
def finding_new(request: HttpRequest, pk: int) -> HttpResponse:
    """One finding, with pictures. Pictures that were taken stay when a box is refused."""
    card = found_card(pk)
    form = FindingForm(request.POST or None, card=card)
    context: dict[str, Any] = {"form": form, "card": card}
    if request.method != "POST":
        return render(request, "inspections/finding_new.html", context)
    context["kept"], context["photo_errors"] = sent_pictures(request)
    form.pictured = bool(context["kept"])
    if not form.is_valid() or context["photo_errors"]:
        return refuse(request, "inspections/finding_new.html", context)
    try:
        finding = actions.add_finding(acting(request), card, **form.finding(context["kept"]))
    except Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "inspections/finding_new.html", context)
    messages.success(request, f"Finding saved: {finding.words}")
    return redirect("jobs:card", card.pk)


@require_safe
@for_roles(*READERS)
def finding(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """One finding, its pictures, what caused it and what is done about it."""
    return finding_sheet(request, found_finding(uid))


def finding_sheet(
    request: HttpRequest, finding: Finding, form: CauseForm | None = None, refused: str = "", status: int = 200, **again: Any
) -> HttpResponse:
    """The finding, with what was refused."""
    writes = cast(User, request.user).role in WRITERS
    context = {"finding": finding, "form": form or CauseForm(finding), "others": list(queries.others(finding)), "refused": refused}
    context |= {"works": writes and finding.card.state == Card.State.OPEN, "photos": queries.side_by_side(finding.photos.all())}
    context |= {"adds": writes and finding.card.state in {Card.State.OPEN, Card.State.READY}}
    context |= {"role_form": RoleForm(initial={"role": FindingPhoto.Role.AFTER}), **again}
    return render(request, "inspections/finding.html", context, status=status)


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
    try:
        line = actions.mend_finding(acting(request), finding)
    except Refused as refused:
        return finding_sheet(request, finding, refused=str(refused), status=409)
    return redirect("jobs:line", line.uid)
