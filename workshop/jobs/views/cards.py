"""The job card and its buttons."""

import uuid as uuids
from functools import partial
from typing import Any, cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.history.actions import acting
from workshop.jobs import actions, queries
from workshop.jobs.models import Complaint, Line
from workshop.jobs.views.common import READERS, WRITERS, card_sheet, done, found_card, found_line, posted_uid
from workshop.outbox import actions as outbox
from workshop.pages.roles import for_roles
from workshop.staff.models import User


@require_safe
@for_roles(*READERS)
def card(request: HttpRequest, pk: int) -> HttpResponse:
    """The job card."""
    return card_sheet(request, pk)


@require_POST
@for_roles(*WRITERS)
def note(request: HttpRequest, pk: int) -> HttpResponse:
    """Saves a note. The same page sent twice saves it once."""
    card, typed = found_card(pk), request.POST.get("words", "").replace("\x00", "")
    words = typed.replace("\r\n", "\n").strip()
    try:
        op_uid = uuids.UUID(request.POST.get("op_uid", ""))
    except ValueError:
        return card_sheet(request, pk, "The page has lost its number. Load it again, your words are below.", 422, note_words=typed)
    if not words or len(words) > 10_000:
        sentence = f"{len(words):,} characters. A note has 1 to 10,000: write what the next reader must know."
        return card_sheet(request, pk, "The note was not saved.", 422, note_words=typed, note_error=sentence)

    def save() -> dict[str, Any]:
        return {"note": str(actions.add_note(acting(request), card, words, uid=op_uid).uid), "card": pk}

    try:
        outbox.once(op_uid, cast(User, request.user), f"note {pk} {words}".encode(), save)
    except (outbox.Conflict, actions.Refused):
        return card_sheet(request, pk, "This page saved another note before. Yours is below: save it again.", 409, note_words=typed)
    return redirect("jobs:card", pk)


@require_POST
@for_roles(*WRITERS)
def start(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The clock of whoever presses it runs on this line; the clock of another line stops."""
    line, person = found_line(uid), cast(User, request.user)
    verb = partial(actions.start_spell, acting(request), line, person, posted_uid(request))
    return done(request, line.card_id, verb, f"Your clock runs on line {line.number}.")


@require_POST
@for_roles(*WRITERS)
def finish(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A line is done."""
    line = found_line(uid)
    return done(request, line.card_id, lambda: actions.finish_line(acting(request), line), f"Line {line.number} is done.")


@require_POST
@for_roles(*WRITERS)
def advise(request: HttpRequest, pk: int) -> HttpResponse:
    """May it be driven?"""
    card, advice, words = found_card(pk), request.POST.get("advice", ""), request.POST.get("words", "").replace("\x00", "")
    if len(words) > 200:
        sentence = f"{len(words):,} characters. At most 200: one sentence the customer understands."
        return card_sheet(request, pk, sentence, 422, advice_words=words, advice_chosen=advice)
    again = {"advice_words": words, "advice_chosen": advice}
    return done(request, pk, lambda: actions.set_advice(acting(request), card, advice, words), **again)


@require_POST
@for_roles(*WRITERS)
def ready(request: HttpRequest, pk: int) -> HttpResponse:
    """The vehicle may leave."""
    card = found_card(pk)
    return done(request, pk, lambda: actions.mark_ready(acting(request), card), "The vehicle is ready.")


@require_safe
@for_roles(*WRITERS)
def closing(request: HttpRequest, pk: int) -> HttpResponse:
    """What is still open before the card is closed, and what stays."""
    card = found_card(pk)
    lines = list(queries.lines_of(card))
    context: dict[str, Any] = {"card": card, "unended": card.complaints.filter(outcome="").order_by("pk")}
    context |= {"not_now": [line for line in lines if line.answer == Line.Answer.NOT_NOW]}
    context |= {"waiting": [line for line in lines if line.answer in {Line.Answer.DRAFT, Line.Answer.OFFERED}]}
    context |= {"did": [line for line in lines if line.progress in {Line.Progress.DONE, Line.Progress.CHECKED}]}
    return render(request, "jobs/closing.html", {**context, "outcomes": Complaint.Outcome.choices, "works": True})


@require_POST
@for_roles(*WRITERS)
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """The visit is over."""
    card = found_card(pk)
    return done(request, pk, lambda: actions.close_card(acting(request), card), "The card is closed.")
