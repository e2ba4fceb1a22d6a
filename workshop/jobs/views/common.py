"""What the views of a card share: who acts, what is found, the card itself with a sentence on top."""

import uuid as uuids
from collections.abc import Callable
from typing import Any, cast

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from workshop.history import queries as history
from workshop.history.actions import Actor
from workshop.jobs import actions, queries
from workshop.jobs.models import Card, Complaint, Line
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")
LAST_TOLD = 5
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = queries.card(pk)
    if card is None:
        raise Http404
    return card


def found_line(uid: uuids.UUID) -> Line:
    """The line or a calm 404."""
    line = queries.line(uid)
    if line is None:
        raise Http404
    return line


def card_sheet(request: HttpRequest, pk: int, refused: str = "", status: int = 200, **typed: Any) -> HttpResponse:
    """The card, with the sentence of what was refused on top and what was typed."""
    sheet = queries.card_page(pk)
    if sheet is None:
        raise Http404
    context: dict[str, Any] = {"card": sheet, "refused": refused, "advice": actions.ADVICE, **typed}
    context |= {"people": {role.kind: role for role in sheet.roles.all()}, "told": history.of_card(pk, LAST_TOLD)}
    said = list(sheet.complaints.all())
    context |= {"said": said, "unended": [complaint for complaint in said if not complaint.outcome]}
    context |= {"outcomes": Complaint.Outcome.choices, "works": cast(User, request.user).role in WRITERS, **_work(sheet)}
    return render(request, "jobs/card.html", context, status=status)


def _work(card: Card) -> dict[str, Any]:
    """Lines with their prices, and what is stopped. Without a rate the card says so instead of prices."""
    lines = list(card.lines.all())
    try:
        priced = queries.priced(card)
    except LookupError as unset:
        return {"lines": [(line, None) for line in lines], "unpriced": str(unset), **_ahead(card, lines)}
    return {"lines": [(line, priced.nets[line.number]) for line in lines], "priced": priced, **_ahead(card, lines)}


def _ahead(card: Card, lines: list[Line]) -> dict[str, Any]:
    """What stops the card, and which step most people want next."""
    running = card.state == Card.State.OPEN
    ordered = [line for line in lines if line.answer == Line.Answer.ACCEPTED]
    undone = [line for line in ordered if line.progress in {Line.Progress.PLANNED, Line.Progress.STARTED}]
    held = [hold for hold in card.held if hold.line is None or hold.line in ordered]  # type: ignore[attr-defined]
    drafts = any(line.answer == Line.Answer.DRAFT for line in lines)
    return {"running": running, "held": held, "undone": undone, "all_done": bool(ordered) and not undone, "drafts": drafts}


def done(request: HttpRequest, pk: int, verb: Callable[[], object], **typed: Any) -> HttpResponse:
    """Does what the button says and shows the card; what is refused is a sentence on it."""
    try:
        verb()
    except actions.Refused as refused:
        return card_sheet(request, pk, str(refused), 409, **typed)
    return redirect("jobs:card", pk)
