"""What the views of documents and of accounts share."""

import uuid as uuids
from typing import cast

from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse

from workshop.invoices import actions, queries
from workshop.invoices.models import Document
from workshop.staff.models import User

WRITERS = ("owner", "office")
READERS = ("owner", "office", "mechanic", "bookkeeper")
BOOKS = ("owner", "office", "bookkeeper")


def writes(request: HttpRequest) -> bool:
    """Whether this person issues and takes money, or reads only."""
    return cast(User, request.user).role in WRITERS


def found(uid: uuids.UUID) -> Document:
    """The document with its amounts, or a calm 404."""
    try:
        return queries.document(uid)
    except Document.DoesNotExist:
        raise Http404 from None


def refused(form: Form, refusal: actions.Refused, box: str | None, *, day: str = "") -> int:
    """Puts the sentence beside its box and returns the status: 409 when the same page said something else before, else 422."""
    if isinstance(refusal, actions.Conflict):
        box = None
    elif isinstance(refusal, actions.WrongDay):
        box = day or None
    form.add_error(box if box in form.fields else None, str(refusal))
    return 409 if isinstance(refusal, actions.Conflict) else 422


def as_pdf(data: bytes, name: str) -> HttpResponse:
    """The bytes as a paper that a browser shows and runs nothing of."""
    return HttpResponse(
        data,
        content_type="application/pdf",
        headers={
            "Cache-Control": "private, no-store",
            "Content-Disposition": f'inline; filename="{name}.pdf"',
            "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
            "X-Content-Type-Options": "nosniff",
        },
    )
