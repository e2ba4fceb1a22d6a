"""The journal as plain text, in two dialects: one that hledger and Ledger read, one that Beancount reads.

Formats: hledger.org/hledger.html (journal), ledger-cli.org/doc/ledger3.html, beancount.github.io/docs (language syntax)."""

from collections.abc import Iterator, Sequence
from datetime import date

from workshop.bookkeeping.actions.rows import Row, by_entry, one_line


def hledger(rows: Sequence[Row], *, title: str, currency: str) -> str:
    """Declares commodity and accounts first, so that strict readers refuse a name that was mistyped later."""
    return "\n".join([f"; {one_line(title)}", "", *_declared(rows, currency), *_entries(rows, currency), ""])


def _declared(rows: Sequence[Row], currency: str) -> Iterator[str]:
    yield from (f"commodity {currency}", f"    format 1000.00 {currency}", "")
    yield from (f"account {name}" for name in _accounts(rows))
    yield ""


def _accounts(rows: Sequence[Row]) -> list[str]:
    return sorted({row.account for row in rows})


def _entries(rows: Sequence[Row], currency: str) -> Iterator[str]:
    width = max((len(row.account) for row in rows), default=0)
    for group in by_entry(rows):
        first = group[0]
        yield f"{first.dated_on} * ({_code(first.reference)}) {_description(first.words)}"
        yield f"    ; {first.source_kind} {first.entry_uid}, tax point {first.tax_point_on}"
        yield from (f"    {row.account:<{width}}  {row.amount:>12f} {currency}" for row in group)
        yield ""


def _code(text: str) -> str:
    """What may stand in the brackets of a code: letters, figures and - / . only."""
    return "".join(character for character in one_line(text) if character.isalnum() or character in "-/. ")


def _description(text: str) -> str:
    """A semicolon begins a comment and a bar parts payee from note: both become a comma. Nothing else means anything here."""
    return one_line(text).replace(";", ",").replace("|", ",").lstrip("*!( ") or "no words"


def beancount(rows: Sequence[Row], *, title: str, currency: str) -> str:
    """Every account is opened on the day of the first entry that the file holds."""
    opened = min((row.dated_on for row in rows), default=date.min)
    head = [f"; {one_line(title)}", "", f'option "title" {_quoted(title)}', f'option "operating_currency" "{currency}"', ""]
    opens = [f"{opened} open {name} {currency}" for name in _accounts(rows)]
    return "\n".join([*head, *opens, "", *_transactions(rows, currency), ""])


def _transactions(rows: Sequence[Row], currency: str) -> Iterator[str]:
    width = max((len(row.account) for row in rows), default=0)
    for group in by_entry(rows):
        first = group[0]
        yield f"{first.dated_on} * {_quoted(first.words)}"
        yield f"  reference: {_quoted(first.reference)}"
        yield f'  uid: "{first.entry_uid}"'
        yield f"  source: {_quoted(first.source_kind)}"
        yield f"  taxpoint: {first.tax_point_on}"
        yield from (f"  {row.account:<{width}}  {row.amount:>12f} {currency}" for row in group)
        yield ""


def _quoted(text: str) -> str:
    escaped = one_line(text).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
