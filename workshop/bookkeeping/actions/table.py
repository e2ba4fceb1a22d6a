"""The postings as CSV (RFC 4180, UTF-8, point as decimal mark, ISO dates), and the schema that tells what each column is."""

import csv
import io
from collections.abc import Sequence
from decimal import Decimal

from workshop.bookkeeping.actions.rows import Row, one_line
from workshop.calc.money import ZERO

# A spreadsheet takes a cell that begins so for a formula (OWASP, CSV Injection); the wide forms count for some.
STARTS_A_FORMULA = tuple("=+-@\t\r\n＝＋－＠")

COLUMNS = (
    ("batch", "integer", "number of the batch"),
    ("entry", "integer", "running number of the entry in this batch, from 1"),
    ("entry_uid", "uuid", "the entry's own id, the same for ever"),
    ("position", "integer", "running number of the posting in its entry, from 1"),
    ("dated_on", "date", "day on which the entry counts in the books, ISO 8601"),
    ("tax_point_on", "date", "day that decides the tax rate and period, ISO 8601"),
    ("source_kind", "text", "what made the entry: invoice, credit, payment, opening"),
    ("reference", "text", "number of the document"),
    ("words", "text", "what happened, in words"),
    ("role", "text", "what the posting stands for: receivable, sales, output_tax, bank, cash, card_clearing"),
    ("line_kind", "text", "what was sold: labour, parts, access_labour, access_parts, first_price, fixed; empty for other roles"),
    ("tax_code", "text", "tax code; empty where no tax belongs to the posting"),
    ("customer_kind", "text", "private or firm"),
    ("party_uid", "uuid", "the customer's id, the same for ever; empty when there is none"),
    ("account", "text", "account of the mapping as it stood when the batch was written"),
    ("debit", "decimal", "amount, two places, if the posting is a debit; else empty"),
    ("credit", "decimal", "amount, two places, if the posting is a credit; else empty"),
    ("amount", "decimal", "debit positive, credit negative, two places; the column sums to 0.00"),
    ("currency", "text", "ISO 4217"),
)


def text_cell(text: str) -> str:
    """The text so that a spreadsheet opens it as text: one line, with an apostrophe in front where it would begin a formula."""
    risky = text.startswith(STARTS_A_FORMULA)
    plain = one_line(text)
    return f"'{plain}" if risky or plain.startswith(STARTS_A_FORMULA) else plain


def postings_csv(rows: Sequence[Row], *, batch: int, currency: str) -> str:
    """All postings, text quoted, numbers bare, lines ended by CR LF."""
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow([name for name, _, _ in COLUMNS])
    entry, last = 0, None
    for row in rows:
        entry, last = entry + (row.entry_uid != last), row.entry_uid
        writer.writerow(_cells(row, batch, entry, currency))
    return out.getvalue()


def _cells(row: Row, batch: int, entry: int, currency: str) -> list[object]:
    words = [
        text_cell(text) for text in (row.source_kind, row.reference, row.words, row.role, row.line_kind, row.tax_code, row.customer_kind)
    ]
    debit: Decimal | str = row.amount if row.amount > ZERO else ""
    credit: Decimal | str = -row.amount if row.amount < ZERO else ""
    ids = [str(row.entry_uid), row.position, str(row.dated_on), str(row.tax_point_on)]
    return [batch, entry, *ids, *words, str(row.party_uid or ""), text_cell(row.account), debit, credit, row.amount, text_cell(currency)]


def schema() -> dict[str, object]:
    """The columns in order, with their type and meaning."""
    return {
        "encoding": "UTF-8",
        "separator": ",",
        "line end": "CR LF",
        "decimal mark": ".",
        "text": "always quoted; an apostrophe stands before a text that a spreadsheet would take for a formula",
        "columns": [{"name": name, "type": kind, "meaning": meaning} for name, kind, meaning in COLUMNS],
    }
