"""Pages of the books: `batches` what waits, batches and files, `accounts` the mapping, `close` the close date, `tax` tax by code,
`papers` all papers of a span, `opening` what was brought over."""

from workshop.bookkeeping.views.accounts import map_accounts, mapping
from workshop.bookkeeping.views.batches import batch, batches, file, replace
from workshop.bookkeeping.views.close import close, reopen
from workshop.bookkeeping.views.opening import opening, take_back
from workshop.bookkeeping.views.papers import papers, papers_zip
from workshop.bookkeeping.views.tax import tax, tax_table

__all__ = [
    "batch",
    "batches",
    "close",
    "file",
    "map_accounts",
    "mapping",
    "opening",
    "papers",
    "papers_zip",
    "reopen",
    "replace",
    "take_back",
    "tax",
    "tax_table",
]
