"""Sheets on which what is wrong on a card is put right."""

import uuid as uuids

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from workshop.book import forms
from workshop.book.queries import mending
from workshop.book.views.common import DESK, READERS, WRITERS, role_of, sheet, there
from workshop.history.actions import acting
from workshop.inspections import actions as inspections
from workshop.inspections import queries as finding_queries
from workshop.jobs import actions as jobs
from workshop.jobs import queries as job_queries
from workshop.jobs.models import Card
from workshop.pages.roles import for_roles, get_or_post


def card_address(card_id: int) -> str:
    """Where a card stands."""
    return reverse("jobs:card", args=[card_id])


@require_safe
@for_roles(*READERS)
def corrections(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything on a card that can be put right, each with the sheet for it."""
    card = there(mending.card(pk))
    away, photos_away = finding_queries.moved_away(card)
    role = role_of(request)
    context = {"card": card, "away": away, "photos_away": photos_away, "works": role in WRITERS, "desk": role in DESK}
    return render(request, "book/corrections.html", context)


@get_or_post
@for_roles(*DESK)
def cancellation(request: HttpRequest, pk: int) -> HttpResponse:
    """A card that comes to nothing."""
    card = there(job_queries.card(pk))
    form = forms.ReasonForm(request.POST or None)
    return sheet(
        request,
        "book/cancellation.html",
        form,
        lambda: jobs.cancel_card(acting(request), card, form.cleaned_data["reason"], billed=mending.billed),
        then=card_address(pk),
        said="The card is cancelled. Everything on it stays.",
        card=card,
    )


@get_or_post
@for_roles(*WRITERS)
def strike(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A line that should not be there."""
    line = there(job_queries.line(uid))
    form = forms.ReasonForm(request.POST or None)
    return sheet(
        request,
        "book/strike.html",
        form,
        lambda: jobs.strike_line(acting(request), line, form.cleaned_data["reason"], billed=mending.billed_line),
        then=card_address(line.card_id),
        said=f"Line {line.number} is struck. It stays on the card with its reason.",
        card=line.card,
        line=line,
    )


@get_or_post
@for_roles(*READERS)
def complaint(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The customer's words, written down wrongly."""
    told = there(mending.complaint(uid))
    form = forms.ComplaintForm(request.POST or None, initial={"words": told.words})
    return sheet(
        request,
        "book/complaint.html",
        form,
        lambda: jobs.change_complaint(acting(request), told, form.cleaned_data["words"], form.cleaned_data["reason"]),
        then=card_address(told.card_id),
        said="Corrected. The old words are in the history.",
        card=told.card,
        complaint=told,
    )


@get_or_post
@for_roles(*WRITERS)
def finding_move(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A finding that was written on the wrong card."""
    finding = there(finding_queries.finding(uid))
    form = forms.FindingMoveForm(request.POST or None)
    return sheet(
        request,
        "book/finding_move.html",
        form,
        lambda: inspections.move_finding(acting(request), finding, form.cleaned_data["card"], form.cleaned_data["reason"]),
        then=reverse("inspections:finding", args=[uid]),
        said="Moved. The finding keeps the card it was first written on.",
        card=finding.card,
        finding=finding,
    )


@get_or_post
@for_roles(*WRITERS)
def photo_move(request: HttpRequest, pk: int) -> HttpResponse:
    """A photo that hangs on the wrong finding. `?card=` is the number of the card whose findings are shown; its own unless named."""
    shown = there(finding_queries.shown_photo(pk))
    number = (request.POST.get("card") or request.GET.get("card", "")).strip()[:20].replace("\x00", "")
    card: Card | None = mending.card_by_number(number) if number else shown.finding.card
    findings = mending.findings_but(card, shown)
    form = forms.PhotoMoveForm(findings, request.POST or None)
    return sheet(
        request,
        "book/photo_move.html",
        form,
        lambda: inspections.move_photo(acting(request), shown, form.cleaned_data["to"], form.cleaned_data["reason"]),
        then=reverse("inspections:finding", args=[shown.finding.uid]),
        said="Moved. The photo keeps the card it was first taken on.",
        card=shown.finding.card,
        shown=shown,
        number=number,
        other=card,
        any=findings.exists(),
    )


@require_POST
@for_roles(*WRITERS)
def offer_again(request: HttpRequest, pk: int, uid: uuids.UUID) -> HttpResponse:
    """A line that was "not now" on an earlier card becomes a draft on this one."""
    card, declined = there(job_queries.card(pk)), there(job_queries.line(uid))
    try:
        line = inspections.offer_again(acting(request), card, declined)
    except jobs.Refused as refused:
        return render(request, "book/offer_again.html", {"card": card, "line": declined, "refused": str(refused)}, status=409)
    messages.success(request, f"Line {line.number} is a draft at the prices of card {declined.card}. Check them, and add its access.")
    return redirect("jobs:line", line.uid)
