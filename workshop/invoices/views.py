"""Invoices at the desk: what may be invoiced, the document, its paper, its payments."""

import uuid as uuids
from decimal import Decimal
from typing import Any, cast

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop.files import queries as files
from workshop.history.actions import Actor
from workshop.invoices import actions, queries
from workshop.invoices.forms import CreditForm, IssueForm, PayForm, RequestForm, day_of
from workshop.invoices.models import Document
from workshop.jobs.models import Card
from workshop.ledger import queries as ledger
from workshop.pages.roles import closed_to, for_roles, refuse
from workshop.staff.models import User

WRITERS = ("owner", "office")
READERS = ("owner", "office", "mechanic", "bookkeeper")
ON_A_PAGE = 50


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


def writes(request: HttpRequest) -> bool:
    """Whether this person issues and takes money, or reads only."""
    return cast(User, request.user).role in WRITERS


def found(uid: uuids.UUID) -> Document:
    """The document with its amounts, or a calm 404."""
    try:
        return queries.document(uid)
    except Document.DoesNotExist:
        raise Http404 from None


@require_safe
@for_roles(*READERS)
def list(request: HttpRequest) -> HttpResponse:
    """All invoices and credit notes, newest first, with what is open. `?show=open` shows what is not paid."""
    only_open = request.GET.get("show") == "open"
    sheet = Paginator(queries.owed() if only_open else queries.documents(), ON_A_PAGE).get_page(request.GET.get("page"))
    context = {"sheet": sheet, "documents": queries.listed_of(sheet.object_list), "only_open": only_open}
    return render(request, "invoices/list.html", {**context, "receivable": ledger.balance("receivable")})


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(*READERS)
def invoice_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Exactly the lines that an invoice issued now would hold, with their go-ahead and total. The button issues it, once."""
    card = get_object_or_404(Card.objects.select_related("vehicle"), pk=pk)
    if request.method != "POST":
        return render(request, "invoices/invoice_new.html", _preview(request, card, IssueForm()))
    if not writes(request):
        return closed_to(request, WRITERS)
    form = IssueForm(request.POST)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            document = actions.issue_invoice(acting(request), card, request_uid=typed["request_uid"], issued_on=typed["issued_on"])
        except actions.Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, f"Invoice {document.number} is issued.")
            return redirect("invoices:invoice", uid=document.uid)
    return refuse(request, "invoices/invoice_new.html", _preview(request, card, form))


def _preview(request: HttpRequest, card: Card, form: IssueForm) -> dict[str, Any]:
    bill = actions.draw_up(card, day_of(form))
    return {"card": card, "bill": bill, "form": form, "writes": writes(request), "issued": queries.of_card(card.pk)}


@require_safe
@for_roles(*READERS)
def invoice(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A document as it was issued, what was paid on it, and the form for the next payment."""
    return render(request, "invoices/invoice.html", _sheet(request, found(uid)))


def _sheet(request: HttpRequest, document: Document, **forms: RequestForm) -> dict[str, Any]:
    body = queries.body(document)
    return {
        "document": document,
        "doc": body,
        "lines": [*zip(document.lines.all(), body["lines"], strict=True)],
        "taxes": [{**code, "percent": Decimal(code["rate"]) * 100} for code in body["taxes"]],
        "state": queries.state(document),
        "writes": writes(request),
        "pay_form": PayForm(initial={"amount": queries.open_amount(document)}),
        "credit_form": CreditForm(auto_id="credit_%s"),
        **forms,
    }


@require_safe
@for_roles(*READERS)
def paper(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The stored PDF, byte for byte; rendered now if that failed when it was issued."""
    document = actions.ensure_paper(found(uid))
    return HttpResponse(
        files.read(cast(str, document.pdf_id)),
        content_type="application/pdf",
        headers={
            "Cache-Control": "private, no-store",
            "Content-Disposition": f'inline; filename="{document.number}.pdf"',
            "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'",
            "X-Content-Type-Options": "nosniff",
        },
    )


@require_POST
@for_roles(*WRITERS)
def pay(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Takes a payment on an invoice, once."""
    document, form = found(uid), PayForm(request.POST)
    if form.is_valid():
        try:
            payment = actions.take_payment(acting(request), document, **form.cleaned_data)
        except actions.Refused as refusal:
            form.add_error("paid_on" if isinstance(refusal, actions.WrongDay) else "amount", str(refusal))
        else:
            messages.success(request, f"{payment.amount:,} is taken on {document.number}.")
            return redirect("invoices:invoice", uid=uid)
    return refuse(request, "invoices/invoice.html", _sheet(request, document, pay_form=form))


@require_POST
@for_roles(*WRITERS)
def credit(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Takes an invoice back in full by a credit note, once."""
    document, form = found(uid), CreditForm(request.POST, auto_id="credit_%s")
    if form.is_valid():
        try:
            note = actions.credit_invoice(acting(request), document, **form.cleaned_data)
        except actions.Refused as refusal:
            form.add_error("reason", str(refusal))
        else:
            messages.success(request, f"{note.number} takes {document.number} back in full.")
            return redirect("invoices:invoice", uid=note.uid)
    return refuse(request, "invoices/invoice.html", _sheet(request, document, credit_form=form))
