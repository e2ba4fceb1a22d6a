"""Tax by code."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from workshop.bookkeeping import queries
from workshop.bookkeeping.actions.table import quoted
from workshop.bookkeeping.forms import asked_span
from workshop.bookkeeping.views.common import ROLES, download
from workshop.company.queries import company, taxed
from workshop.pages.roles import for_roles, refuse


@require_safe
@for_roles(*ROLES)
def tax(request: HttpRequest) -> HttpResponse:
    """Net, tax and gross of a span by tax code, and what ties them to the journal. Nobody registered: there is no such page."""
    if not taxed():
        raise Http404
    form = asked_span(request.GET)
    if not form.is_valid():
        return refuse(request, "bookkeeping/tax.html", {"form": form})
    span = form.cleaned_data
    return render(request, "bookkeeping/tax.html", {"form": form, "report": queries.tax_report(**span), **span})


@require_safe
@for_roles(*ROLES)
def tax_table(request: HttpRequest) -> HttpResponse:
    """The same as CSV."""
    form = asked_span(request.GET)
    if not taxed() or not form.is_valid():
        raise Http404
    first, last = form.cleaned_data["from_on"], form.cleaned_data["to_on"]
    currency = quoted(company().currency)
    lines = ['"from","to","tax_code","net","tax","gross","currency"']
    for row in queries.tax_report(first, last).rows:
        lines.append(f'"{first}","{last}",{quoted(row.code)},{row.net:f},{row.tax:f},{row.gross:f},{currency}')
    text = "".join(f"{line}\r\n" for line in lines)
    return HttpResponse(text, content_type="text/csv; charset=utf-8", headers=download(f"tax-{first}-{last}.csv"))
