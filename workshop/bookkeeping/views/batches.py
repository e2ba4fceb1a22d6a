"""The books: what waits, batches, their files."""

from typing import Any, cast

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.forms import ReasonForm, SpanForm, usual_span
from workshop.bookkeeping.models import Batch
from workshop.bookkeeping.views.common import ROLES, download
from workshop.files import queries as files
from workshop.history.actions import acting
from workshop.ledger import queries as ledger
from workshop.pages.roles import for_roles, refuse


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
    shown: dict[str, Any] = {"form": form, "waiting": queries.all_waiting()[0], "batches": queries.batches(), "mapped": queries.mapped()}
    if not unread:
        span = (form.cleaned_data["from_on"], form.cleaned_data["to_on"])
        seen = queries.preview(*span)
        shown |= {"seen": seen, "entries": queries.waiting(*span)[: queries.SHOWN], "more": max(seen.entries - queries.SHOWN, 0)}
    return shown


@require_safe
@for_roles(*ROLES)
def batch(request: HttpRequest, no: int) -> HttpResponse:
    """A batch: totals, documents, files, and the form that writes another in its place."""
    return render(request, "bookkeeping/batch.html", _batch_sheet(get_object_or_404(queries.batches(), no=no)))


@require_POST
@for_roles(*ROLES)
def replace(request: HttpRequest, no: int) -> HttpResponse:
    """Writes a batch in the place of this one, with what was dated in its days since."""
    found = get_object_or_404(queries.batches(), no=no)
    form = ReasonForm(request.POST)
    if form.is_valid():
        try:
            written = actions.replace_batch(acting(request), found, form.cleaned_data["reason"])
        except actions.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Batch {written.no} is written in place of batch {no}.")
            return redirect("bookkeeping:batch", no=written.no)
    return refuse(request, "bookkeeping/batch.html", _batch_sheet(found, form))


def _batch_sheet(found: Batch, form: ReasonForm | None = None) -> dict[str, Any]:
    control = queries.control(found)
    closed = ledger.closed_through()
    return {
        "batch": found,
        "rows": queries.entries_of(found),
        "more": max(control["entries"] - queries.SHOWN, 0),
        "control": control,
        "output_tax": control["output tax"].items(),
        "newer": Batch.objects.filter(replaces=found).first(),
        "closed": closed if closed is not None and closed >= found.from_on else None,
        "since": queries.waiting(found.from_on, found.to_on).count(),
        "form": form or ReasonForm(),
    }


@require_safe
@for_roles(*ROLES)
def file(request: HttpRequest, no: int, name: str) -> HttpResponse:
    """A file of a batch as it was written, byte for byte."""
    found = get_object_or_404(Batch, no=no)
    kept = get_object_or_404(found.files.select_related("blob"), name=name)
    whole = files.path(kept.blob_id).open("rb")  # read while it is sent, a piece at a time
    about = {"content_type": f"{kept.blob.media_type}; charset=utf-8", "headers": download(kept.name)}
    return cast(HttpResponse, FileResponse(whole, as_attachment=True, filename=kept.name, **about))
