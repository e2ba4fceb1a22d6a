"""The page of an invoice by link, and the letter that leads to it."""

import json
from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from workshop import clock
from workshop.company import queries as company
from workshop.history.actions import Actor, record
from workshop.invoices import queries
from workshop.invoices.models import Document
from workshop.ledger.actions import Conflict, Refused
from workshop.letters.actions import address_mark, write_letter
from workshop.links import actions as links
from workshop.links.models import Link
from workshop.outbox import actions as outbox
from workshop.pages.templatetags.pages_format import money

OPEN_FOR = timedelta(days=365)  # after it is due; common practice, no source


@transaction.atomic
def send_invoice(actor: Actor, document: Document, *, email: str, request_uid: UUID) -> Link:
    """Returns the link of an invoice, made now where none lives, and with a mail address writes the letter that leads to it, once.

    Raises Conflict when the same request sent something else, Refused for a credit note."""
    document = Document.objects.select_for_update().get(pk=document.pk)
    if document.kind != Document.Kind.INVOICE:
        raise Refused("A credit note has no page of its own. Open its paper and hand that on.")
    body = json.dumps([str(document.uid), email]).encode()
    try:
        done, _fresh = outbox.once(request_uid, None, body, lambda: _send(actor, document, email))
    except outbox.Conflict:
        raise Conflict("This page sent something else already. That stands. Open the page again and start anew.") from None
    return Link.objects.get(uid=done["link"])


def _send(actor: Actor, document: Document, email: str) -> dict[str, Any]:
    link = queries.link_of(document) or write_link(document)
    if email:
        write_invoice_letter(document, link, email)
    told = {"number": document.number, "how": f"by mail to {email}" if email else "by its link", "document": document.uid}
    record("invoice.sent", actor, card_id=document.card_id, payload=told)
    return {"link": str(link.uid)}


def write_link(document: Document) -> Link:
    """Makes the link of an invoice; records nothing. It lives for a year after the day it is due."""
    last = max(document.due_on, clock.today()) + OPEN_FOR
    ends = datetime.combine(last, time(18), tzinfo=timezone.get_current_timezone())
    return links.make(queries.BY_LINK, document.uid, document.payer.name[:120], ends)


def write_invoice_letter(document: Document, link: Link, email: str) -> None:
    """Writes the letter with the link, in the business's newest wording for it; records nothing."""
    body, wording = queries.body(document), company.wording("invoice")
    context = {"doc": body, "document": document, "wording": wording, "address": address_mark(link, "invoices:by_link")}
    subject = f"{body['seller']['name']}: {document.number}, {money(document.gross_amount)} {body['currency']}"
    write_letter(email, subject, "invoices/mail/invoice.txt", context, document.uid)
