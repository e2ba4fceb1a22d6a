"""What customers owe, paid and hold as credit: the list, one customer's account, its buttons, its statement."""

import uuid as uuids
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop import clock
from workshop.calc.money import ZERO
from workshop.company.queries import company
from workshop.customers.models import Party
from workshop.history.actions import acting
from workshop.invoices import actions, pdf, queries
from workshop.invoices.forms import BackForm, RemindForm, SpanForm, TakeForm, UseForm
from workshop.invoices.models import Document
from workshop.invoices.views.common import BOOKS, WRITERS, as_pdf, refused, writes
from workshop.pages.roles import for_roles


def found_payer(uid: uuids.UUID) -> Party:
    """The payer, or a calm 404."""
    party = queries.payer(uid)
    if party is None:
        raise Http404
    return party


@require_safe
@for_roles(*BOOKS)
def owed(request: HttpRequest) -> HttpResponse:
    """Who owes what, since when, by age; and who holds credit."""
    rows = queries.owing(clock.today())
    ages = [sum((row.ages[place] for row in rows), ZERO) for place in range(len(queries.AGES))]
    context = {
        "rows": rows,
        "ages": [*zip([words for _, words in queries.AGES], ages, strict=True)],
        "left": sum(ages, ZERO),
        "credit": sum((row.credit for row in rows), ZERO),
    }
    return render(request, "invoices/owed.html", context)


@require_safe
@for_roles(*BOOKS)
def account(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A customer's account: what is open, what came and went in a span, and the forms that take, use and give back money."""
    return _drawn(request, found_payer(uid))


def _drawn(request: HttpRequest, party: Party, *, status: int = 200, **forms: Form) -> HttpResponse:
    documents: Any = queries.open_of(party)  # left_amount is an annotation
    credit = sum(queries.free_money(party).values(), ZERO)
    left = sum((each.left_amount for each in documents), ZERO)
    ticked = {"documents": [str(each.uid) for each in documents]}
    context: dict[str, Any] = {
        "party": party,
        "documents": documents,
        "left": left,
        "credit": credit,
        "late": [each for each in documents if each.due_on < clock.today()],
        "writes": writes(request),
        "account": queries.statement(party, *span(request)),
        "span_form": SpanForm(request.GET if "from_on" in request.GET else None, initial=usual_span()),
        "take_form": TakeForm(documents, initial=ticked | {"amount": left or ""}, auto_id="take_%s"),
        "use_form": UseForm(documents, initial=ticked, auto_id="use_%s"),
        "back_form": BackForm(initial={"amount": credit}, auto_id="back_%s"),
        "remind_form": RemindForm(initial={"email": queries.mail_of(party)}, auto_id="remind_%s"),
        **forms,
    }
    return render(request, "invoices/account.html", context, status=status)


def usual_span() -> dict[str, date]:
    """The last ninety days."""
    return {"from_on": clock.today() - timedelta(days=90), "to_on": clock.today()}


def span(request: HttpRequest) -> tuple[date, date]:
    """The days that were asked for (`?from_on=&to_on=`), the usual ones when they cannot be read."""
    form = SpanForm(request.GET)
    typed = form.cleaned_data if form.is_valid() else usual_span()
    return typed["from_on"], typed["to_on"]


def _chosen(documents: list[Document], form: Form) -> list[Document]:
    return [each for each in documents if str(each.uid) in form.cleaned_data["documents"]]


@require_POST
@for_roles(*WRITERS)
def take(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Takes a payment on several invoices of a customer, once."""
    party = found_payer(uid)
    documents = _sent_before(party, request)
    form, status = TakeForm(documents, request.POST, auto_id="take_%s"), 422
    if form.is_valid():
        typed = {name: value for name, value in form.cleaned_data.items() if name != "documents"}
        try:
            payment = actions.take_for(acting(request), party, _chosen(documents, form), **typed)
        except actions.Refused as refusal:
            status = refused(form, refusal, "fee" if "fee" in str(refusal) else "amount", day="paid_on")
        else:
            messages.success(request, f"{payment.amount:,} is taken.")
            return redirect("invoices:account", uid=party.uid)
    return _drawn(request, party, status=status, take_form=form)


def _sent_before(party: Party, request: HttpRequest) -> list[Document]:
    """What is open, and what this very page named: a second tap of it finds what the first one paid."""
    uids = [text for text in request.POST.getlist("documents") if len(text) == len(str(party.uid))]
    try:
        named = queries.documents().filter(payer__in=queries.same_party(party), uid__in=[uuids.UUID(text) for text in uids])
    except ValueError:
        named = queries.documents().none()
    known = {each.pk: each for each in [*queries.open_of(party), *named]}
    return [*known.values()]


@require_POST
@for_roles(*WRITERS)
def use_credit(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Lays a customer's credit on invoices, once."""
    party = found_payer(uid)
    documents = _sent_before(party, request)
    form, status = UseForm(documents, request.POST, auto_id="use_%s"), 422
    if form.is_valid():
        try:
            used = actions.use_credit(acting(request), party, _chosen(documents, form), request_uid=form.cleaned_data["request_uid"])
        except actions.Refused as refusal:
            status = refused(form, refusal, "documents")
        else:
            messages.success(request, f"{used:,} of the credit is used.")
            return redirect("invoices:account", uid=party.uid)
    return _drawn(request, party, status=status, use_form=form)


@require_POST
@for_roles(*WRITERS)
def give_back(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Notes money that goes back to a customer out of the credit, once."""
    party, form, status = found_payer(uid), BackForm(request.POST, auto_id="back_%s"), 422
    if form.is_valid():
        try:
            refund = actions.give_back(acting(request), party, **form.cleaned_data)
        except actions.Refused as refusal:
            status = refused(form, refusal, "amount", day="paid_on")
        else:
            messages.success(request, f"{refund.amount:,} is noted as given back.")
            return redirect("invoices:account", uid=party.uid)
    return _drawn(request, party, status=status, back_form=form)


@require_POST
@for_roles(*WRITERS)
def remind(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Writes a letter about what is past due into the out-tray, once."""
    party, form, status = found_payer(uid), RemindForm(request.POST, auto_id="remind_%s"), 422
    if form.is_valid():
        try:
            letter = actions.remind(acting(request), party, queries.open_of(party), **form.cleaned_data)
        except actions.Refused as refusal:
            status = refused(form, refusal, "email")
        else:
            messages.success(request, f"The letter to {letter.to} is in the out-tray.")
            return redirect("invoices:account", uid=party.uid)
    return _drawn(request, party, status=status, remind_form=form)


@require_safe
@for_roles(*BOOKS)
def statement(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A customer's account over a span, as a paper."""
    party = found_payer(uid)
    return as_pdf(pdf.statement(queries.statement(party, *span(request)), company()), f"statement-{clock.today()}")
