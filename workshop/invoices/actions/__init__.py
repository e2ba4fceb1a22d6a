"""Issue an invoice, credit it, take a payment on it.

Read bill.py (what may be invoiced and why), then issue.py, then pay.py."""

from workshop.invoices.actions.bill import Bill, BillLine, draw_up, uninvoiced
from workshop.invoices.actions.credit import WrongAmount, credit_invoice, left_of
from workshop.invoices.actions.freeze import ensure_paper, paper_html
from workshop.invoices.actions.issue import issue_invoice
from workshop.invoices.actions.pay import give_back, take_for, take_payment, use_credit
from workshop.invoices.actions.remind import remind
from workshop.invoices.actions.send import send_invoice
from workshop.ledger.actions import Conflict, Refused, WrongDay

EVENTS = {
    "invoice.issued": "issued invoice {number} over {gross_amount}",
    "invoice.credited": "credited invoice {corrects} with {number} over {gross_amount}: {reason}",
    "payment.taken": "took {amount} by {method} on {number}",
    "payment.credit_used": "used {amount} of the credit of {party} on {number}",
    "invoice.sent": "passed on invoice {number} {how}",
    "invoice.reminded": "reminded {party} of {number}: {amount} are due",
    "payment.given_back": "gave {amount} back to {party} by {method}",
}

__all__ = [
    "EVENTS",
    "Bill",
    "BillLine",
    "Conflict",
    "Refused",
    "WrongAmount",
    "WrongDay",
    "credit_invoice",
    "draw_up",
    "ensure_paper",
    "give_back",
    "issue_invoice",
    "left_of",
    "paper_html",
    "remind",
    "send_invoice",
    "take_for",
    "take_payment",
    "uninvoiced",
    "use_credit",
]
