"""Issue an invoice, credit it, take a payment on it.

Read bill.py (what may be invoiced and why), then issue.py, then pay.py."""

from workshop.invoices.actions.bill import Bill, BillLine, draw_up
from workshop.invoices.actions.credit import credit_invoice
from workshop.invoices.actions.freeze import ensure_paper, paper_html
from workshop.invoices.actions.issue import issue_invoice
from workshop.invoices.actions.pay import WrongDay, take_payment
from workshop.ledger.actions import Refused

EVENTS = {
    "invoice.issued": "issued invoice {number} over {gross_amount}",
    "invoice.credited": "credited invoice {corrects} with {number} over {gross_amount}: {reason}",
    "payment.taken": "took {amount} by {method} on {number}",
}

__all__ = [
    "EVENTS",
    "Bill",
    "BillLine",
    "Refused",
    "WrongDay",
    "credit_invoice",
    "draw_up",
    "ensure_paper",
    "issue_invoice",
    "paper_html",
    "take_payment",
]
