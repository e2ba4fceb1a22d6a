"""Write the mapping to accounts; write a batch, or one that replaces another; lay batches out; enter opening balances.

Read batch.py first; what stands in the files is in journal.py, table.py and lines.py."""

from workshop.bookkeeping.actions.batch import export_books, replace_batch, write_batch
from workshop.bookkeeping.actions.mapping import map_accounts, require_account, write_mapping
from workshop.bookkeeping.actions.opening import Owed, take_back_opening, write_opening
from workshop.bookkeeping.actions.papers import zip_of
from workshop.ledger.actions import Refused, WrongDay

EVENTS = {
    "bookkeeping.mapped": "wrote the accounts of {rows} cases",
    "bookkeeping.batch_written": "wrote batch {no}, {from_on} to {to_on}: {entries} entries, {debit} debit and credit",
    "bookkeeping.batch_replaced": "wrote batch {no} in place of batch {replaces}: {reason}",
    "bookkeeping.opened": "entered the opening balances of {as_of}: {debit} debit and credit, {invoices} unpaid invoices from before",
    "bookkeeping.opening_taken_back": "took back the opening balances of {as_of}: {reason}",
}

__all__ = [
    "EVENTS",
    "Owed",
    "Refused",
    "WrongDay",
    "export_books",
    "map_accounts",
    "replace_batch",
    "require_account",
    "take_back_opening",
    "write_batch",
    "write_mapping",
    "write_opening",
    "zip_of",
]
