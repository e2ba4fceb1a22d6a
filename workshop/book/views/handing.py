"""The hand-over sheet of a card."""

import uuid as uuids
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.book import actions, forms, pdf
from workshop.book.queries import hand_over as sheets
from workshop.book.queries import holding
from workshop.book.views.common import READERS, WRITERS, role_of, there
from workshop.files import queries as files
from workshop.history.actions import acting
from workshop.jobs import queries as jobs
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.pages.roles import closed_to, for_roles, get_or_post, refuse
from workshop.worksheets import actions as worksheets


def _shown(request: HttpRequest, card: Card, **forms_as_typed: Any) -> dict[str, Any]:
    """The sheet as it is now, its holds, what was handed over before, and both forms."""
    writes = role_of(request) in WRITERS
    return {
        "card": card,
        "sheet": sheets.sheet(card),
        "held": holding.held(jobs.open_holds(card)),
        "hand_overs": sheets.of(card),
        "works": writes and card.state in {Card.State.OPEN, Card.State.READY},
        "gives": writes and card.state != Card.State.OPEN,
        "form": forms.HandOverForm(),
        "old_form": forms.OldPartsForm(auto_id="old_%s"),
        **forms_as_typed,
    }


@get_or_post
@for_roles(*READERS)
def hand_over(request: HttpRequest, pk: int) -> HttpResponse:
    """What the customer is told when the vehicle goes back; pressed, it is handed over and its paper kept."""
    card = there(sheets.card(pk))
    if request.method != "POST":
        return render(request, "book/hand_over.html", _shown(request, card))
    if role_of(request) not in WRITERS:
        return closed_to(request, WRITERS)
    form = forms.HandOverForm(request.POST)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            given = actions.hand_over(acting(request), card, **typed)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Handed over to {given.given_to}. The sheet is kept as it was.")
            return redirect("book:hand_over", pk)
    return refuse(request, "book/hand_over.html", _shown(request, card, form=form))


@require_POST
@for_roles(*WRITERS)
def old_parts(request: HttpRequest, pk: int) -> HttpResponse:
    """What became of the old parts."""
    card = there(sheets.card(pk))
    form = forms.OldPartsForm(request.POST, auto_id="old_%s")
    if form.is_valid():
        try:
            worksheets.answer_old_parts(acting(request), card, **form.cleaned_data)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            return redirect("book:hand_over", pk)
    return refuse(request, "book/hand_over.html", _shown(request, card, old_form=form))


@require_safe
@for_roles(*READERS)
def hand_over_paper(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper: the one kept at the last hand-over, `?given=` another one, `?now=1` as the sheet is now."""
    card = there(sheets.card(pk))
    named = request.GET.get("given", "")
    kept = sheets.given(_uid(named), card) if named else sheets.of(card).first()
    if named and kept is None:
        raise Http404
    data = files.read(kept.paper_id) if kept and "now" not in request.GET else pdf.render(sheets.sheet(card))
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={
            "Cache-Control": "private, no-store",
            "Content-Disposition": f'inline; filename="hand-over-{card.number or card.pk}.pdf"',
            "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
            "X-Content-Type-Options": "nosniff",
        },
    )


def _uid(text: str) -> uuids.UUID:
    """The uid in an address, or a calm 404."""
    try:
        return uuids.UUID(text)
    except ValueError:
        raise Http404 from None
