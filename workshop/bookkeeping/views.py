"""The books: what waits, batches, their files."""

from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.forms import SpanForm, usual_span
from workshop.bookkeeping.models import Batch
from workshop.company.queries import company
from workshop.files import queries as files
from workshop.history.actions import Actor
from workshop.pages.roles import for_roles, refuse
from workshop.staff.models import User

ROLES = ("owner", "bookkeeper")


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(*ROLES)
def batches(request: HttpRequest) -> HttpResponse:
    """What waits in a span (`?from_on=&to_on=`), the button that writes a batch of it, and the batches so far."""
    if request.method == "POST":
        return _write(request)
    asked = {name: request.GET[name] for name in ("from_on", "to_on") if name in request.GET}
    form = SpanForm(asked or usual_span(queries.all_waiting()[1]))
    return render(request, "bookkeeping/batches.html", _sheet(form))


def _write(request: HttpRequest) -> HttpResponse:
    form = SpanForm(request.POST)
    if form.is_valid():
        try:
            written = actions.write_batch(acting(request), **form.cleaned_data)
        except actions.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Batch {written.no} is written.")
            return redirect("bookkeeping:batch", no=written.no)
    return refuse(request, "bookkeeping/batches.html", _sheet(form))


def _sheet(form: SpanForm) -> dict[str, Any]:
    unread = form.errors.keys() & {"from_on", "to_on"}
    seen = None if unread else queries.preview(form.cleaned_data["from_on"], form.cleaned_data["to_on"])
    waiting, _ = queries.all_waiting()
    return {"form": form, "waiting": waiting, "seen": seen, "batches": queries.batches(), "mapped": queries.mapped()}


@require_POST
@for_roles(*ROLES)
def map_accounts(request: HttpRequest) -> HttpResponse:
    """Takes over the accounts that come with the tax profile. What was mapped by hand before is written over."""
    try:
        rows = queries.suggested_accounts(company().tax_profile)
    except LookupError as nothing:
        raise Http404 from nothing
    actions.map_accounts(acting(request), rows)
    messages.success(request, f"{len(rows)} accounts are written. Batches written before keep theirs.")
    return redirect("bookkeeping:batches")


@require_safe
@for_roles(*ROLES)
def batch(request: HttpRequest, no: int) -> HttpResponse:
    """A batch: totals, documents, files."""
    found = get_object_or_404(queries.batches(), no=no)
    control = queries.control(found)
    context = {"batch": found, "rows": queries.entries_of(found), "control": control, "output_tax": control["output tax"].items()}
    return render(request, "bookkeeping/batch.html", context)


@require_safe
@for_roles(*ROLES)
def file(request: HttpRequest, no: int, name: str) -> HttpResponse:
    """A file of a batch as it was written, byte for byte."""
    found = get_object_or_404(Batch, no=no)
    kept = get_object_or_404(found.files.select_related("blob"), name=name)
    return HttpResponse(
        files.read(kept.blob_id),
        content_type=f"{kept.blob.media_type}; charset=utf-8",
        headers={
            "Cache-Control": "private, no-store",
            "Content-Disposition": f'attachment; filename="{kept.name}"',
            "Content-Security-Policy": "default-src 'none'; sandbox",
            "X-Content-Type-Options": "nosniff",
        },
    )
