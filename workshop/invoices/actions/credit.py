"""Credit an invoice."""

from typing import Any
from uuid import UUID

from django.db import transaction

from workshop import clock
from workshop.calc import tax
from workshop.history.actions import Actor, record
from workshop.invoices import queries
from workshop.invoices.actions.freeze import freeze, give_number, made_before, paper_after_commit, post, told
from workshop.invoices.models import DocLine, DocTax, Document
from workshop.jobs.models import Card
from workshop.ledger import queries as ledger
from workshop.ledger.actions import PostingIn, Refused


@transaction.atomic
def credit_invoice(actor: Actor, document: Document, *, reason: str, request_uid: UUID) -> Document:
    """A credit note over the whole invoice, dated today, with the opposite entry; its lines may then be invoiced anew.

    Raises Refused when it was credited before, when money was taken on it (refunds come later), or without a reason."""
    if document.card_id:
        Card.objects.select_for_update().get(pk=document.card_id)
    document = Document.objects.select_for_update(of=("self",)).select_related("card", "payer").get(pk=document.pk)
    if made := made_before(request_uid, corrects_id=document.pk):
        return made
    if document.kind != Document.Kind.INVOICE:
        raise Refused("A credit note cannot be credited.")
    if document.credits.exists():
        raise Refused(f"{document.number} is credited in full already. Nothing is left to credit.")
    if not reason.strip():
        raise Refused("A credit note needs its reason; it is printed on it.")
    if queries.open_amount(document) != document.gross_amount:
        raise Refused(f"Money was taken on {document.number}. Giving it back is not possible here yet, so it cannot be credited.")
    credit = _credit(document, reason.strip(), request_uid)
    record("invoice.credited", actor, card_id=document.card_id, payload={**told(credit), "corrects": document.number, "reason": reason})
    paper_after_commit(credit)
    return credit


def _credit(document: Document, reason: str, request_uid: UUID) -> Document:
    on = clock.today()
    changed = {"kind": "credit", "issued_on": on, "tax_point_on": document.tax_point_on, "due_on": on, "reason": reason}
    body = queries.body(document) | changed
    body["corrects"] = {"number": document.number, "issued_on": document.issued_on}
    body["number"] = give_number("credit", on)
    total = tax.Taxed(document.net_amount, document.tax_amount, document.gross_amount)
    credit = freeze(body, request_uid=request_uid, card=document.card, payer=document.payer, total=total, corrects=document)
    DocLine.objects.bulk_create(
        DocLine(**{**_columns(line), "document_id": credit.pk, "corrects_id": line.pk}) for line in document.lines.all()
    )
    DocTax.objects.bulk_create(DocTax(**{**_columns(code), "document_id": credit.pk}) for code in document.taxes.all())
    entry = ledger.of_source(document.uid).get()
    opposite = [
        PostingIn(p.role, -p.amount, p.line_kind, p.tax_code, p.customer_kind, p.party_uid) for p in entry.postings.order_by("position")
    ]
    post(credit, f"Credit to {document.number}, {document.payer.name}", opposite, reverses=entry)
    return credit


def _columns(row: DocLine | DocTax) -> dict[str, Any]:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields if not field.primary_key}
