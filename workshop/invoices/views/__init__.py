"""Invoices at the desk: documents.py one paper, accounts.py what a customer owes, paid and holds as credit."""

from workshop.invoices.views.accounts import account, give_back, owed, remind, statement, take, use_credit
from workshop.invoices.views.documents import credit, credit_lines, invoice, invoice_new, list, paper, pay, send

__all__ = [
    "account",
    "credit",
    "credit_lines",
    "give_back",
    "invoice",
    "invoice_new",
    "list",
    "owed",
    "paper",
    "pay",
    "remind",
    "send",
    "statement",
    "take",
    "use_credit",
]
