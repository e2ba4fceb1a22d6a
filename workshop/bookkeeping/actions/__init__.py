"""Write the mapping to accounts; write a batch.

Read batch.py first; what stands in the files is in journal.py and table.py."""

from workshop.bookkeeping.actions.batch import export_books, map_accounts, write_batch, write_mapping
from workshop.ledger.actions import Refused

EVENTS = {
    "bookkeeping.mapped": "wrote the accounts of {rows} cases",
    "bookkeeping.batch_written": "wrote batch {no}, {from_on} to {to_on}: {entries} entries, {debit} debit and credit",
}

__all__ = ["EVENTS", "Refused", "export_books", "map_accounts", "write_batch", "write_mapping"]
