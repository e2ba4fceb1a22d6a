"""Take a payment."""

from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.invoices import queries
from workshop.invoices.models import Allocation, Document, Payment
from workshop.ledger.actions import PostingIn, Refused, write_entry

ROLES = {Payment.Method.BANK: "bank", Payment.Method.CARD: "card_clearing", Payment.Method.CASH: "cash"}


class WrongDay(Refused):
    """The day of the payment cannot be; the sentence belongs beside the day."""


@transaction.atomic
def take_payment(
    actor: Actor, document: Document, *, method: str, amount: Decimal, paid_on: date, request_uid: UUID, reference: str = ""
) -> Payment:
    """Money that came in for one invoice, up to what is open on it, posted in the same transaction.

    The same request again returns the same payment. Raises Refused with the sentence to show: more than is open, nothing or less,
    a credit note, books closed; WrongDay for a day to come or one before the invoice."""
    document = Document.objects.select_for_update(of=("self",)).select_related("payer").get(pk=document.pk)
    if made := Payment.objects.filter(request_uid=request_uid).first():
        if not made.allocations.filter(document=document).exists():
            raise Refused("This request took a payment already, for another invoice. Open the page again and start anew.")
        return made
    _check(document, amount, paid_on)
    payment = Payment.objects.create(
        request_uid=request_uid,
        party=document.payer,
        method=Payment.Method(method),
        amount=amount,
        paid_on=paid_on,
        reference=reference[:80],
        entered_at=clock.now(),
    )
    Allocation.objects.create(payment=payment, document=document, amount=amount)
    _post(payment, document)
    told = {"amount": amount, "method": payment.get_method_display(), "number": document.number, "payment": payment.uid}
    record("payment.taken", actor, card_id=document.card_id, payload=told)
    return payment


def _check(document: Document, amount: Decimal, paid_on: date) -> None:
    if document.kind != Document.Kind.INVOICE:
        raise Refused("A payment is taken on an invoice, not on a credit note.")
    if amount <= 0:
        raise Refused("Nothing was paid. Write the amount that came in, above 0.00.")
    if paid_on > clock.today():
        raise WrongDay(f"{paid_on} has not come yet. Write the day on which the money came in.")
    if paid_on < document.issued_on:
        raise WrongDay(
            f"{paid_on} is before the invoice of {document.issued_on}; deposits are not kept yet. Write that day or a later one."
        )
    left = queries.open_amount(document)
    if not left:
        raise Refused(f"Nothing is open on {document.number}. Look whether the money is for another invoice.")
    if amount > left:
        raise Refused(f"{left:,} are open on {document.number}, not {amount:,}. Take {left:,}; more cannot be kept for a customer yet.")


def _post(payment: Payment, document: Document) -> None:
    payer = document.payer
    write_entry(
        source_kind="payment",
        source_uid=payment.uid,
        reference=document.number,
        dated_on=payment.paid_on,
        tax_point_on=payment.paid_on,
        words=f"Payment by {payment.get_method_display()}, {payer.name}",
        postings=[
            PostingIn(ROLES[Payment.Method(payment.method)], payment.amount, customer_kind=payer.kind, party_uid=payer.uid),
            PostingIn("receivable", -payment.amount, customer_kind=payer.kind, party_uid=payer.uid),
        ],
    )
