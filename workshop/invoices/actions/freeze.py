"""What every document shares: its number, its frozen body, its entry in the books, its paper."""

import json
from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from django.db import transaction

from workshop import clock
from workshop.calc import canonical, tax
from workshop.company import actions as company_actions
from workshop.customers.models import Party
from workshop.files import actions as files
from workshop.invoices import pdf, queries
from workshop.invoices.models import Document
from workshop.jobs.models import Card
from workshop.ledger.actions import Conflict, PostingIn, WrongDay, write_entry
from workshop.ledger.models import Entry


def made_before(request_uid: UUID, asked: dict[str, Any], **about: int) -> Document | None:
    """What this request made earlier, None when it is new. `asked` is what the body keeps of the request, `about` what the row says.

    Raises Conflict when the same number came with other content."""
    made = Document.objects.filter(request_uid=request_uid).first()
    if made is None:
        return None
    kept = queries.body(made).get("asked", {})
    if any(getattr(made, name) != value for name, value in about.items()) or json.loads(canonical.dumps(asked)) != kept:
        raise Conflict(f"This page made {made.number} already, with other content. That one stands. Open the page again and start anew.")
    return made


def give_number(kind: str, on: date) -> str:
    """Waits for the series; from here to the commit nobody else is given a number."""
    try:
        return company_actions.next_number(kind, on)
    except company_actions.DateGoesBack as refusal:
        raise WrongDay(str(refusal)) from None


def freeze(
    body: dict[str, Any], *, request_uid: UUID, card: Card | None, payer: Party, total: tax.Taxed, corrects: Document | None = None
) -> Document:
    """Writes the document with the canonical text of its body and the hash of that text."""
    text = canonical.dumps(body)
    return Document.objects.create(
        request_uid=request_uid,
        kind=body["kind"],
        number=body["number"],
        card=card,
        payer=payer,
        issued_on=body["issued_on"],
        tax_point_on=body["tax_point_on"],
        due_on=body["due_on"],
        issued_at=clock.now(),
        basis=body["basis"],
        net_amount=total.net,
        tax_amount=total.tax,
        gross_amount=total.gross,
        body=text,
        sha256=canonical.sha256(text),
        corrects=corrects,
    )


def post(document: Document, words: str, postings: list[PostingIn], reverses: Entry | None = None) -> None:
    """The entry of a document, dated and named as it is. Errors as write_entry."""
    write_entry(
        source_kind=document.kind,
        source_uid=document.uid,
        reference=document.number,
        dated_on=document.issued_on,
        tax_point_on=document.tax_point_on,
        words=words,
        postings=postings,
        reverses=reverses,
    )


def told(document: Document) -> dict[str, Any]:
    """What history keeps of a document."""
    return {"number": document.number, "gross_amount": document.gross_amount, "document": document.uid, "sha256": document.sha256}


def ensure_paper(document: Document) -> Document:
    """The document with its paper: rendered from the frozen body if that has not happened, stored, and never again. Records nothing."""
    if document.pdf_id is None:
        data = pdf.render(queries.body(document), document.sha256)
        with transaction.atomic():
            blob = files.store(data, "application/pdf")
            Document.objects.filter(pk=document.pk, pdf=None).update(pdf=blob)
        document.refresh_from_db(fields=["pdf"])
    return document


def paper_html(document: Document) -> str:
    """The page that ensure_paper draws, as HTML."""
    return pdf.html(queries.body(document), document.sha256)


def paper_after_commit(document: Document) -> None:
    """Renders once the document is safe. If that fails it stands all the same, and its paper is rendered when it is first opened."""
    transaction.on_commit(partial(ensure_paper, document), robust=True)
