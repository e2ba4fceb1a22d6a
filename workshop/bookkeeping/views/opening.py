"""What was brought over from the books before."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.forms import OpeningForm, ReasonForm
from workshop.bookkeeping.queries.accounts import ROLES as ROLE_WORDS
from workshop.bookkeeping.views.common import ROLES
from workshop.history.actions import acting
from workshop.pages.roles import for_roles, refuse


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(*ROLES)
def opening(request: HttpRequest) -> HttpResponse:
    """The opening balances that stand, or the form that enters them as one balanced entry."""
    if request.method != "POST":
        return render(request, "bookkeeping/opening.html", _sheet())
    form = OpeningForm(request.POST)
    if form.is_valid():
        try:
            entry = actions.write_opening(acting(request), **form.told())
        except actions.WrongDay as refusal:
            form.add_error("as_of", str(refusal))
        except actions.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"The opening balances of {entry.dated_on} are entered.")
            return redirect("bookkeeping:opening")
    return refuse(request, "bookkeeping/opening.html", _sheet(form=form))


@require_POST
@for_roles(*ROLES)
def take_back(request: HttpRequest) -> HttpResponse:
    """Takes the opening balances back, if they are still those that the sheet showed."""
    form = ReasonForm(request.POST, auto_id="back_%s")
    if form.is_valid():
        try:
            actions.take_back_opening(acting(request), _uid(form.cleaned_data["about"]), form.cleaned_data["reason"])
        except actions.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, "The opening balances are taken back. Both entries stay in the books.")
            return redirect("bookkeeping:opening")
    return refuse(request, "bookkeeping/opening.html", _sheet(back=form))


def _uid(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        return UUID(int=0)


def _sheet(**forms: Any) -> dict[str, Any]:
    stands = queries.opening()
    rows = [(ROLE_WORDS.get(each.role, each.role), each) for each in stands.postings] if stands else []
    about = stands.entry.uid if stands else None
    shown = {"form": OpeningForm(), "back": ReasonForm(initial={"about": about}, auto_id="back_%s"), "stands": stands, "rows": rows}
    return {**shown, **forms}
