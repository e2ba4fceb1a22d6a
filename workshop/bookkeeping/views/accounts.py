"""Which case goes to which account."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.forms import MappingForm
from workshop.bookkeeping.views.common import ROLES
from workshop.company.queries import company
from workshop.history.actions import acting
from workshop.pages.roles import for_roles, refuse


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(*ROLES)
def mapping(request: HttpRequest) -> HttpResponse:
    """The account of each case, those without one on top, and beside it what each event debits and credits."""
    form = MappingForm(request.POST or None, places=queries.places())
    if request.method == "POST" and form.is_valid():
        try:
            changed = actions.map_accounts(acting(request), form.rows(), seen=form.cleaned_data["seen"] or None)
        except actions.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _told(len(changed)))
            return redirect("bookkeeping:mapping")
    shown = {"form": form, "events": queries.what_happens(), "suggested": queries.suggested(company().tax_profile)}
    return refuse(request, "bookkeeping/mapping.html", shown) if form.is_bound else render(request, "bookkeeping/mapping.html", shown)


@require_POST
@for_roles(*ROLES)
def map_accounts(request: HttpRequest) -> HttpResponse:
    """Takes over the accounts that come with the tax profile. What was mapped by hand before is written over."""
    try:
        rows = queries.suggested_accounts(company().tax_profile)
    except LookupError as nothing:
        raise Http404 from nothing
    messages.success(request, _told(len(actions.map_accounts(acting(request), rows))))
    return redirect("bookkeeping:mapping")


def _told(changed: int) -> str:
    if not changed:
        return "Every account was so already. Nothing was changed."
    return f"{changed} account{' is' if changed == 1 else 's are'} written. Batches written before keep theirs."
