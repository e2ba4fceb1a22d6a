"""Invoices at the desk: what may be invoiced, the document, its paper, its payments, its credit notes."""

import uuid as uuids
from collections.abc import Sequence
from decimal import Decimal
from typing import Any, cast

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.loader import render_to_string
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop import clock
from workshop.calc.money import ZERO
from workshop.files import queries as files
from workshop.history.actions import acting
from workshop.invoices import actions, queries
from workshop.invoices.forms import CreditForm, CreditLinesForm, IssueForm, PayForm, RequestForm, SendForm, day_of
from workshop.invoices.models import DocLine, Document
from workshop.invoices.views.common import BOOKS, READERS, WRITERS, as_pdf, found, refused, writes
from workshop.jobs.models import Card
from workshop.ledger import queries as ledger
from workshop.letters import queries as letters
from workshop.links import queries as links
from workshop.pages.roles import closed_to, for_roles
from workshop.staff.models import User

ON_A_PAGE = 50


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
    whole = actions.draw_up(card, clock.today())
    choices = whole.choices
    if request.method != "POST":
        known = {"email": queries.mail_of(whole.payer)} if whole.payer else {}
        looked = IssueForm(choices, request.GET) if request.GET else IssueForm(choices, initial=known)
        looked.is_valid()
        return render(request, "invoices/invoice_new.html", _preview(request, card, looked))
    if not writes(request):
        return closed_to(request, WRITERS)
    form, status = IssueForm(choices, request.POST), 422
    if form.is_valid():
        typed = form.cleaned_data
        about = {name: typed[name] for name in ("request_uid", "issued_on", "email")} | {"numbers": form.numbers()}
        try:
            document = actions.issue_invoice(acting(request), card, **about)
        except actions.Refused as refusal:
            status = refused(form, refusal, "numbers", day="issued_on")
        else:
            messages.success(request, f"Invoice {document.number} is issued.")
            return redirect("invoices:invoice", uid=document.uid)
    return render(request, "invoices/invoice_new.html", _preview(request, card, form), status=status)


def _preview(request: HttpRequest, card: Card, form: IssueForm) -> dict[str, Any]:
    bill = actions.draw_up(card, day_of(form), form.numbers())
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
        "taxed": queries.taxed(body),
        "taxes": [{**code, "percent": Decimal(code["rate"]) * 100} for code in body["taxes"]],
        "state": queries.state(document),
        "writes": writes(request),
        "reads_account": cast(User, request.user).role in BOOKS,
        "pay_form": PayForm(initial={"amount": queries.open_amount(document)}),
        "standing": document.kind == Document.Kind.INVOICE and queries.standing_lines().filter(document=document).exists(),
        "credit_form": CreditForm(auto_id="credit_%s"),
        "send_form": SendForm(initial={"email": queries.mail_of(document.payer)}, auto_id="send_%s"),
        "letter": letters.about(document.uid).first(),
        "passing": _passing(document, body),
        **forms,
    }


def _passing(document: Document, body: queries.Body) -> links.Passing | None:
    """The invoice's page on its way to the payer; None without a living link."""
    link = queries.link_of(document)
    if link is None:
        return None
    words = render_to_string("invoices/mail/share.txt", {"doc": body, "document": document})
    whom = queries.reached_at(document.payer)
    title = gettext("Invoice %(number)s") % {"number": document.number}
    return links.passing(links.address(link, "invoices:by_link"), title=title, words=words, **whom)


@require_POST
@for_roles(*WRITERS)
def send(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Makes the link of an invoice where none lives; with a mail address a letter that leads to it lies in the out-tray, once."""
    document, form, status = found(uid), SendForm(request.POST, auto_id="send_%s"), 422
    if form.is_valid():
        try:
            actions.send_invoice(acting(request), document, **form.cleaned_data)
        except actions.Refused as refusal:
            status = refused(form, refusal, "email")
        else:
            to = form.cleaned_data["email"]
            messages.success(request, f"The letter to {to} is in the out-tray." if to else f"{document.number} has its page by link.")
            return redirect("invoices:invoice", uid=uid)
    return render(request, "invoices/invoice.html", _sheet(request, document, send_form=form), status=status)


@require_safe
@for_roles(*READERS)
def paper(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """The stored PDF, byte for byte; rendered now if that failed when it was issued."""
    document = actions.ensure_paper(found(uid))
    return as_pdf(files.read(cast(str, document.pdf_id)), document.number)


@require_POST
@for_roles(*WRITERS)
def pay(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Takes a payment on an invoice, once."""
    document, form, status = found(uid), PayForm(request.POST), 422
    if form.is_valid():
        try:
            payment = actions.take_payment(acting(request), document, **form.cleaned_data)
        except actions.Refused as refusal:
            status = refused(form, refusal, "fee" if "fee" in str(refusal) else "amount", day="paid_on")
        else:
            messages.success(request, f"{payment.amount:,} is taken on {document.number}.")
            return redirect("invoices:invoice", uid=uid)
    return render(request, "invoices/invoice.html", _sheet(request, document, pay_form=form), status=status)


@require_POST
@for_roles(*WRITERS)
def credit(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Takes back by a credit note all of an invoice that is not credited yet, once."""
    document, form, status = found(uid), CreditForm(request.POST, auto_id="credit_%s"), 422
    if form.is_valid():
        try:
            note = actions.credit_invoice(acting(request), document, **form.cleaned_data)
        except actions.Refused as refusal:
            status = refused(form, refusal, "reason")
        else:
            messages.success(request, _credited(document, note))
            return redirect("invoices:invoice", uid=note.uid)
    return render(request, "invoices/invoice.html", _sheet(request, document, credit_form=form), status=status)


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles(*WRITERS)
def credit_lines(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """How much of which line is taken back, with the reason. The button writes the credit note, once."""
    document = found(uid)
    left = _left(document)
    if request.method != "POST":
        left = [row for row in left if row[1]]
        return render(request, "invoices/credit_lines.html", _credit_sheet(document, left, CreditLinesForm(left)))
    form, status = CreditLinesForm(left, request.POST), 422
    if form.is_valid():
        about = {"reason": form.cleaned_data["reason"], "request_uid": form.cleaned_data["request_uid"], "amounts": form.amounts()}
        try:
            note = actions.credit_invoice(acting(request), document, **about)
        except actions.Refused as refusal:
            status = refused(form, refusal, f"line{refusal.position}" if isinstance(refusal, actions.WrongAmount) else None)
        else:
            messages.success(request, _credited(document, note))
            return redirect("invoices:invoice", uid=note.uid)
    return render(request, "invoices/credit_lines.html", _credit_sheet(document, left, form), status=status)


def _left(document: Document) -> Sequence[tuple[DocLine, Decimal]]:
    standing = {line.pk: actions.left_of(line) for line in queries.standing_lines().filter(document=document)}
    return [(line, standing.get(line.pk, ZERO)) for line in document.lines.all()]


def _credit_sheet(document: Document, left: Sequence[tuple[DocLine, Decimal]], form: CreditLinesForm) -> dict[str, Any]:
    return {"document": document, "form": form, "boxes": [form[name] for name in form.places], "left": left}


def _credited(document: Document, note: Document) -> str:
    if note.gross_amount == document.gross_amount:
        return f"{note.number} takes {document.number} back in full."
    return f"{note.number} takes {note.gross_amount:,} of {document.number} back."
