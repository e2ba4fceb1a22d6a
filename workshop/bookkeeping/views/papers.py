"""All papers of a span."""

from typing import cast

from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.forms import asked_span
from workshop.bookkeeping.views.common import ROLES, download
from workshop.pages.roles import for_roles, refuse


@require_safe
@for_roles(*ROLES)
def papers(request: HttpRequest) -> HttpResponse:
    """How many invoices and credit notes a span has, and where to save them all."""
    form = asked_span(request.GET)
    if not form.is_valid():
        return refuse(request, "bookkeeping/papers.html", {"form": form})
    span = form.cleaned_data
    return render(request, "bookkeeping/papers.html", {"form": form, "held": queries.papers(**span), **span})


@require_safe
@for_roles(*ROLES)
def papers_zip(request: HttpRequest) -> HttpResponse:
    """The papers in one zip, made while it is sent."""
    form = asked_span(request.GET)
    if not form.is_valid():
        raise Http404
    first, last = form.cleaned_data["from_on"], form.cleaned_data["to_on"]
    documents = queries.papers(first, last).documents.iterator(chunk_size=100)
    name = f"papers-{first}-{last}.zip"
    answer = StreamingHttpResponse(actions.zip_of(documents), content_type="application/zip", headers=download(name))
    return cast(HttpResponse, answer)  # the wrappers of views are told of this one kind of answer
