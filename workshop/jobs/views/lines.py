"""Lines of work and access steps."""

import uuid as uuids
from collections.abc import Callable
from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render

from workshop.calc.labour import SetPrice
from workshop.history.actions import acting
from workshop.jobs import actions, queries
from workshop.jobs.forms import LineForm, StepForm, rows_in, typed_line
from workshop.jobs.models import Card, Line
from workshop.jobs.views.common import WRITERS, card_sheet, found_card, found_line
from workshop.pages.roles import for_roles, get_or_post, refuse
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
        return actions.change_line(acting(request), draft, seen=form.cleaned_data["seen"], **form.line())

    return _line_sheet(request, "jobs/line.html", draft.card, save, typed_line(draft), draft=draft)


def _line_sheet(
    request: HttpRequest, template: str, card: Card, save: Callable[[LineForm], Line], shown: dict[str, Any], *, draft: Line | None = None
) -> HttpResponse:
    """The sheet of a line: shown, given one more row of parts, refused, or saved."""
    rows = rows_in(request.POST) if request.method == "POST" else rows_in(cast(Any, shown))
    context: dict[str, Any] = {"card": card, "line": draft}
    if "step" in request.POST:
        return _step_sheet(request, card, StepForm(card), _kept(request.POST))
    if request.method != "POST" or "more" in request.POST:
        typed = _typed(request.POST) if request.method == "POST" else shown
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


def _typed(data: QueryDict) -> dict[str, Any]:
    """What a line's sheet carried, as its form shows it again."""
    return {**data.dict(), "steps": data.getlist("steps")}


def _kept(data: QueryDict) -> str:
    """A line as it is typed so far, in one string that the sheet of a step carries along."""
    kept = data.copy()
    for name in ("csrfmiddlewaretoken", "step", "more"):
        kept.pop(name, None)
    return kept.urlencode()


@get_or_post
@for_roles(*WRITERS)
def step_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A new access step on a card; the line that was being written comes back with the step ticked."""
    card, kept = found_card(pk), request.POST.get("kept", "")
    if request.method != "POST":
        return _step_sheet(request, card, StepForm(card))
    if kept and "back" in request.POST:
        return _line_again(request, card, kept)
    form = StepForm(card, request.POST)
    if form.is_valid():
        try:
            step = actions.add_step(acting(request), card, **form.step())
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Access step {step.position} is on the card: {step.words}. Lines that need it choose it.")
            if kept:
                return _line_again(request, card, kept, step.pk)
            return redirect("jobs:line_new" if "then_line" in request.POST else "jobs:card", card.pk)
    return _step_sheet(request, card, form, kept, 422)


def _step_sheet(request: HttpRequest, card: Card, form: StepForm, kept: str = "", status: int = 200) -> HttpResponse:
    return render(request, "jobs/step_new.html", {"form": form, "card": card, "kept": kept}, status=status)


def _line_again(request: HttpRequest, card: Card, kept: str, step_pk: int | None = None) -> HttpResponse:
    """The sheet of the line that was being written, with everything typed and the new step ticked."""
    data = QueryDict(kept)
    typed = _typed(data)
    typed["steps"] += [str(step_pk)] if step_pk else []
    draft = _draft(card, typed.get("uid", ""))
    form = LineForm(card, initial=typed, rows=rows_in(data))
    return render(request, "jobs/line.html" if draft else "jobs/line_new.html", {"card": card, "line": draft, "form": form})


def _draft(card: Card, uid: str) -> Line | None:
    """The line of this card that was being changed; None for one that was being made."""
    try:
        found = queries.line(uuids.UUID(uid))
    except ValueError:
        return None
    return found if found and found.card_id == card.pk and found.answer == Line.Answer.DRAFT else None
