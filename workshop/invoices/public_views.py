"""The customer's page of an invoice, by link. Reading it changes nothing: mail scanners read every address they see."""

from collections.abc import Callable
from decimal import Decimal
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from workshop.files import queries as files
from workshop.invoices import pdf, queries
from workshop.invoices.models import Document
from workshop.links import queries as links
from workshop.pages import errors
from workshop.pages.headers import public_headers

type View = Callable[..., HttpResponse]
GONE = 410


def of_link(view: View) -> View:
    """Hands the view the invoice behind its token: the same plain 404 for an unknown one, a calm page with our phone for a dead one."""

    @wraps(view)
    def looked_up(request: HttpRequest, token: str) -> HttpResponse:
        link = links.find(token, queries.BY_LINK)
        if link is None:
            text = render_to_string("quotes/_nothing.html", {"trouble": errors.NOT_FOUND})
            return HttpResponse(text, status=errors.NOT_FOUND.status)
        document = queries.documents().get(uid=link.subject_uid)
        if not links.alive(link):
            return render(request, "invoices/_closed.html", {"seller": queries.body(document)["seller"]}, status=GONE)
        return view(request, document, token)

    return looked_up


@public_headers
@require_safe
@of_link
def by_link(request: HttpRequest, document: Document, token: str) -> HttpResponse:
    """The invoice as it was issued, what is still to be paid, and how."""
    return render(request, "invoices/by_link.html", shown(document, token))


def shown(document: Document, token: str) -> dict[str, Any]:
    """What the page shows: only what stands on the paper, and what was paid and credited since."""
    body = queries.body(document)
    return {
        "document": document,
        "doc": body,
        "token": token,
        "taxed": queries.taxed(body),
        "taxes": [{**code, "percent": Decimal(code["rate"]) * 100} for code in body["taxes"]],
        "state": queries.state(document),
    }


@public_headers
@require_safe
@of_link
def paper_by_link(request: HttpRequest, document: Document, token: str) -> HttpResponse:
    """The stored PDF, byte for byte. One that was not drawn yet is drawn for this answer and not kept."""
    data = files.read(document.pdf_id) if document.pdf_id else pdf.render(queries.body(document), document.sha256)
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{document.number}.pdf"'
    return response
