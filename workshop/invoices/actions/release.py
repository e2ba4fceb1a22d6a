"""Free money again that lies on a document which is no longer owed: it becomes the customer's credit."""

from decimal import Decimal

from workshop import clock
from workshop.calc.money import ZERO
from workshop.invoices import queries
from workshop.invoices.models import Allocation, Document, Payment
from workshop.ledger.actions import PostingIn, write_entry


def release(document: Document, credit: Document) -> Decimal:
    """Takes what is paid too much on a credited invoice off it, the newest payment first. Returns how much. Records nothing."""
    over = -queries.open_amount(document)
    freed = ZERO
    for payment, amount in _lying_on(document):
        part = min(amount, over - freed)
        if part <= 0:
            continue
        Allocation.objects.create(
            payment=payment, document=document, amount=-part, request_uid=credit.request_uid, used_on=credit.issued_on
        )
        _post(payment, document, credit, part)
        freed += part
    return freed


def _lying_on(document: Document) -> list[tuple[Payment, Decimal]]:
    sums: dict[Payment, Decimal] = {}
    for row in document.allocations.select_related("payment").order_by("-pk"):
        sums[row.payment] = sums.get(row.payment, ZERO) + row.amount
    return list(sums.items())


def _post(payment: Payment, document: Document, credit: Document, amount: Decimal) -> None:
    payer = document.payer
    write_entry(
        source_kind="release",
        source_uid=payment.uid,
        reference=credit.number,
        dated_on=credit.issued_on,
        tax_point_on=clock.today(),
        words=f"Money on {document.number} is credit again, {payer.name}",
        postings=[
            PostingIn("receivable", amount, customer_kind=payer.kind, party_uid=payer.uid),
            PostingIn("customer_credit", -amount, customer_kind=payer.kind, party_uid=payer.uid),
        ],
    )


def vehicle_of(document: Document) -> int | None:
    """The vehicle that the document is about."""
    return document.card.vehicle_id if document.card else None
