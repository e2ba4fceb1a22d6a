"""The close date."""

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from workshop import clock
from workshop.bookkeeping import queries
from workshop.bookkeeping.forms import CloseForm, ReasonForm
from workshop.bookkeeping.forms.span import usual_close
from workshop.bookkeeping.views.common import ROLES
from workshop.history.actions import acting
from workshop.ledger import actions as ledger
from workshop.ledger import queries as books
from workshop.pages.roles import for_roles, refuse


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(*ROLES)
def close(request: HttpRequest) -> HttpResponse:
    """Through which day the books are closed, every close so far, and the form that closes through a later day."""
    if request.method != "POST":
        return render(request, "bookkeeping/close.html", _sheet())
    form = CloseForm(request.POST)
    if form.is_valid():
        try:
            ledger.close_books(acting(request), **form.cleaned_data)
        except ledger.Refused as refusal:
            form.add_error("through_on", str(refusal))
        else:
            messages.success(request, f"The books are closed through {form.cleaned_data['through_on']}.")
            return redirect("bookkeeping:close")
    return refuse(request, "bookkeeping/close.html", _sheet(form=form))


@require_POST
@for_roles(*ROLES)
def reopen(request: HttpRequest) -> HttpResponse:
    """Takes the last close back, if it is still the one that the sheet showed."""
    form = ReasonForm(request.POST, auto_id="back_%s")
    if form.is_valid():
        try:
            ledger.reopen_books(acting(request), form.cleaned_data["reason"], through_on=_day(form.cleaned_data["about"]))
        except ledger.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            closed = books.closed_through()
            messages.success(request, f"The books are open again after {closed}." if closed else "The books are open again.")
            return redirect("bookkeeping:close")
    return refuse(request, "bookkeeping/close.html", _sheet(back=form))


def _day(text: str) -> date:
    """The day that the sheet showed; a day that never was for anything else, so that nothing is taken back by chance."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return date.min


def _sheet(**forms: Any) -> dict[str, Any]:
    closed = books.closed_through()
    through = usual_close(clock.today(), closed)
    shown = {
        "form": CloseForm(initial={"through_on": through}),
        "back": ReasonForm(initial={"about": closed}, auto_id="back_%s"),
        "closed": closed,
        "closes": books.closes()[:60],
        "unsent": queries.waiting_through(through) if through else 0,
        "through": through,
    }
    return {**shown, **forms}
