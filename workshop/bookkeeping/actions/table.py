"""The postings as CSV (RFC 4180, UTF-8, point as decimal mark, ISO dates), and the schema that tells what each column is."""

from collections.abc import Callable
from functools import cache
from typing import Any

from workshop.bookkeeping.actions.rows import About, Case, Entry, Told, one_line

# A spreadsheet takes a cell that begins so for a formula (OWASP, CSV Injection); the wide forms count for some.
STARTS_A_FORMULA = tuple("=+-@\t\r\n＝＋－＠")

COLUMNS = (
    ("batch", "integer", "number of the batch"),
    ("entry", "integer", "running number of the entry in this batch, from 1"),
    ("entry_uid", "uuid", "the entry's own id, the same for ever"),
    ("position", "integer", "running number of the posting in its entry, from 1"),
    ("dated_on", "date", "day on which the entry counts in the books, ISO 8601"),
    ("tax_point_on", "date", "day that decides the tax rate and period, ISO 8601"),
    ("source_kind", "text", "what made the entry: invoice, credit, payment, opening and others"),
    ("reference", "text", "number of the document"),
    ("words", "text", "what happened, in words"),
    ("role", "text", "what the posting stands for: receivable, sales, output_tax, bank, cash, card_clearing and others"),
    ("line_kind", "text", "what was sold: labour, parts, access_labour, access_parts, first_price, fixed; empty for other roles"),
    ("tax_code", "text", "tax code; empty where no tax belongs to the posting"),
    ("customer_kind", "text", "private or firm; empty when there is no customer"),
    ("party_uid", "uuid", "the customer's id, the same for ever; empty when there is none"),
    ("account", "text", "account of the mapping as it stood when the batch was written"),
    ("debit", "decimal", "amount, two places, if the posting is a debit; else empty"),
    ("credit", "decimal", "amount, two places, if the posting is a credit; else empty"),
    ("amount", "decimal", "debit positive, credit negative, two places; the column sums to 0.00"),
    ("currency", "text", "ISO 4217"),
)
POSTING = ("position", "role", "line_kind", "tax_code", "customer_kind", "party_uid", "account", "amount")


def text_cell(text: str) -> str:
    """The text so that a spreadsheet opens it as text: one line, with an apostrophe in front where it would begin a formula."""
    risky = text.startswith(STARTS_A_FORMULA)
    plain = one_line(text)
    return f"'{plain}" if risky or plain.startswith(STARTS_A_FORMULA) else plain


def quoted(text: str) -> str:
    """A cell of text: quoted, quotes in it doubled."""
    doubled = text_cell(text).replace('"', '""')
    return f'"{doubled}"'


def csv_head(about: About) -> str:
    """The names of the columns."""
    return ",".join(f'"{name}"' for name, _, _ in COLUMNS) + "\r\n"


def csv(about: About) -> Callable[[Entry], str]:
    """The postings of an entry, a line each, text quoted, numbers bare, lines ended by CR LF. Written by hand and not with the csv
    module, because most of a line is the same as that above it."""
    currency = quoted(about.currency)
    of_case = cache(lambda case: ",".join(map(quoted, (case.role, case.line_kind, case.tax_code, case.customer_kind))))
    account = cache(quoted)

    def line(first: str, days: str, told: Told, case: Case) -> str:
        sides = f"{told.amount}," if told.coins > 0 else f",{told.amount[1:]}"
        return (
            f'{first}{told.position},{days}{of_case(case)},"{told.party_uid}",{account(case.account)},{sides},{told.amount},{currency}\r\n'
        )

    def write(entry: Entry) -> str:
        first = f'{about.no},{entry.no},"{entry.uid}",'
        words = f"{quoted(entry.source_kind)},{quoted(entry.reference)},{quoted(entry.words)},"
        days = f'"{entry.dated_on}","{entry.tax_point_on}",{words}'
        return "".join([line(first, days, told, told.case) for told in entry.postings])

    return write


def schema() -> dict[str, Any]:
    """The columns in order, with their type and meaning, and what a line of the JSON Lines file holds."""
    meanings = {name: {"name": name, "type": kind, "meaning": meaning} for name, kind, meaning in COLUMNS}
    once = [name for name in meanings if name not in {*POSTING, "debit", "credit"}]
    return {
        "encoding": "UTF-8",
        "separator": ",",
        "line end": "CR LF",
        "decimal mark": ".",
        "text": "always quoted; an apostrophe stands before a text that a spreadsheet would take for a formula",
        "columns": list(meanings.values()),
        "json lines": {
            "line": "one entry, an object; amounts are texts, so that no reader makes binary fractions of them",
            "names": [meanings[name] for name in once],
            "postings": [meanings[name] for name in POSTING],
        },
    }
