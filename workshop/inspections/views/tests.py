"""The sheet of a test and the sheet of fault codes."""

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from workshop.history.actions import acting
from workshop.inspections import actions, queries
from workshop.inspections.forms import ClearForm, CodesForm, TestForm
from workshop.inspections.models import CodeRead
from workshop.inspections.views.common import READERS, WRITERS, found_card, sent_pictures
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.pages.roles import closed_to, for_roles, get_or_post, refuse
from workshop.staff.models import User


@get_or_post
@for_roles(*WRITERS)
def test_new(request: HttpRequest, pk: int) -> HttpResponse:
    """One test, which is a finding too. Pictures that were taken stay when a box is refused."""
    card = found_card(pk)
    form = TestForm(request.POST or None, card=card)
    context: dict[str, Any] = {"form": form, "card": card}
    if request.method != "POST":
        return render(request, "inspections/test_new.html", context)
    context["kept"], context["photo_errors"] = sent_pictures(request)
    if not form.is_valid() or context["photo_errors"]:
        return refuse(request, "inspections/test_new.html", context)
    try:
        finding = actions.add_test(acting(request), card, **form.test(context["kept"]))
    except Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "inspections/test_new.html", context)
    messages.success(request, f"Test saved: {finding.words}")
    return redirect("jobs:card", card.pk)


test_new.__test__ = False  # type: ignore[attr-defined]  # not one of pytest's


@get_or_post
@for_roles(*READERS)
def codes(request: HttpRequest, pk: int) -> HttpResponse:
    """The fault codes as they were read, before the work and after it."""
    card = found_card(pk)
    if request.method != "POST":
        return codes_sheet(request, card)
    if cast(User, request.user).role not in WRITERS:
        return closed_to(request, WRITERS)
    form = CodesForm(request.POST)
    if form.is_valid():
        try:
            read = actions.read_codes(acting(request), card, **form.read())
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Kept: {read.codes.count() or 'no'} fault codes, read {read.get_moment_display()}.")
            return redirect("inspections:codes", card.pk)
    return codes_sheet(request, card, form, status=422)


def codes_sheet(request: HttpRequest, card: Card, form: CodesForm | None = None, status: int = 200, **refused: Any) -> HttpResponse:
    """All reads, the comparison, and the boxes for the next read."""
    reads = queries.code_reads(card)
    works = cast(User, request.user).role in WRITERS and card.state in {Card.State.OPEN, Card.State.READY}
    moment = CodeRead.Moment.AFTER if reads else CodeRead.Moment.BEFORE
    context = {"card": card, "reads": reads, "compared": queries.compared(reads), "gone": queries.codes_cleared(card), "works": works}
    context |= {"form": form or CodesForm(initial={"moment": moment}), "clear": ClearForm(auto_id="clear_%s"), **refused}
    return render(request, "inspections/codes.html", context, status=status)


@require_POST
@for_roles(*WRITERS)
def clear(request: HttpRequest, pk: int) -> HttpResponse:
    """Says that the codes are gone from the vehicle: cleared, or the battery was off."""
    card = found_card(pk)
    form = ClearForm(request.POST, auto_id="clear_%s")
    if not form.is_valid():
        return codes_sheet(request, card, status=422, clear=form)
    try:
        actions.clear_codes(acting(request), card, form.cleaned_data["how"], uid=form.cleaned_data["uid"])
    except Refused as refused:
        return codes_sheet(request, card, status=409, refused=str(refused), clear=form)
    return redirect("inspections:codes", card.pk)
