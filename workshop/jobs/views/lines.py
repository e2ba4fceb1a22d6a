"""Lines of work and access steps."""

import uuid as uuids
from collections.abc import Callable
from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from workshop.calc.labour import SetPrice
from workshop.jobs import actions, queries
from workshop.jobs.forms import LineForm, StepForm, rows_in, typed_line
from workshop.jobs.models import Card, Line
from workshop.jobs.views.common import WRITERS, acting, card_sheet, found_card, found_line, get_or_post
from workshop.pages.roles import for_roles, refuse
from workshop.pages.templatetags.pages_format import money


@get_or_post
@for_roles(*WRITERS)
def line_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A new line of work on a card."""
    card = found_card(pk)

    def save(form: LineForm) -> Line:
        return actions.add_line(acting(request), card, **form.line())

    return _line_sheet(request, "jobs/line_new.html", card, save, {"kind": Line.Kind.FAILED})


@get_or_post
@for_roles(*WRITERS)
def line(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A draft line again, to put minutes and prices right."""
    draft = found_line(uid)
    if draft.answer != Line.Answer.DRAFT:
        return card_sheet(request, draft.card_id, f"Line {draft.number} was shown to the customer. Add a new line instead.", 409)

    def save(form: LineForm) -> Line:
        return actions.change_line(acting(request), draft, **form.line())

    return _line_sheet(request, "jobs/line.html", draft.card, save, typed_line(draft), draft=draft)


def _line_sheet(
    request: HttpRequest, template: str, card: Card, save: Callable[[LineForm], Line], shown: dict[str, Any], *, draft: Line | None = None
) -> HttpResponse:
    """The sheet of a line: shown, given one more row of parts, refused, or saved."""
    rows = rows_in(request.POST) if request.method == "POST" else rows_in(cast(Any, shown))
    context: dict[str, Any] = {"card": card, "line": draft}
    if request.method != "POST" or "more" in request.POST:
        typed = {**request.POST.dict(), "steps": request.POST.getlist("steps")} if request.method == "POST" else shown
        more = 1 if "more" in request.POST else 0
        return render(request, template, {**context, "form": LineForm(card, initial=typed, rows=rows + more)})
    form = LineForm(card, request.POST, rows=rows)
    if not form.is_valid():
        return refuse(request, template, {**context, "form": form})
    try:
        saved = save(form)
    except actions.Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, template, {**context, "form": form})
    messages.success(request, _told_price(card, saved))
    return redirect("jobs:card", card.pk)


def _told_price(card: Card, line: Line) -> str:
    """What the line costs and what all come to now."""
    try:
        priced = queries.priced(found_card(card.pk))
    except LookupError:
        return f"Line {line.number} is on the card."
    total: SetPrice = priced.live
    return f"Line {line.number} is on the card: {money(priced.nets[line.number])} net. All lines: {money(total.gross)} with tax."


@get_or_post
@for_roles(*WRITERS)
def step_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A new access step on a card."""
    card = found_card(pk)
    form = StepForm(card, request.POST or None)
    if request.method != "POST":
        return render(request, "jobs/step_new.html", {"form": form, "card": card})
    if form.is_valid():
        try:
            step = actions.add_step(acting(request), card, **form.step())
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Access step {step.position} is on the card: {step.words}. Lines that need it choose it.")
            return redirect("jobs:line_new" if "then_line" in request.POST else "jobs:card", card.pk)
    return refuse(request, "jobs/step_new.html", {"form": form, "card": card})
