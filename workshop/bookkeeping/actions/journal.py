"""The journal as plain text, in two dialects: one that hledger and Ledger read, one that Beancount reads.

Formats: hledger.org/hledger.html (journal), ledger-cli.org/doc/ledger3.html, beancount.github.io/docs (language syntax)."""

from collections.abc import Callable

from workshop.bookkeeping.actions.rows import About, Entry, one_line

Writer = Callable[[Entry], str]


def hledger_head(about: About) -> str:
    """Declares commodity and accounts first, so that strict readers refuse a name that was mistyped later."""
    lines = [f"; {one_line(about.title)}", *([f"; {one_line(about.note)}"] if about.note else []), ""]
    lines += [f"commodity {about.currency}", f"    format 1000.00 {about.currency}", ""]
    return "\n".join([*lines, *(f"account {name}" for name in about.accounts), "", ""])


def hledger(about: About) -> Writer:
    """An entry as a transaction."""
    accounts, currency = {name: f"    {name:<{about.width}}  " for name in about.accounts}, about.currency

    def write(entry: Entry) -> str:
        rows = "".join(f"{accounts[told.case.account]}{told.amount:>12} {currency}\n" for told in entry.postings)
        head = f"{entry.dated_on} * ({_code(entry.reference)}) {_description(entry.words)}\n"
        return f"{head}    ; {entry.source_kind} {entry.uid}, tax point {entry.tax_point_on}\n{rows}\n"

    return write


def _code(text: str) -> str:
    """What may stand in the brackets of a code: letters, figures and - / . only."""
    return "".join(character for character in text if character.isalnum() or character in "-/. ")


def _description(text: str) -> str:
    """A semicolon begins a comment and a bar parts payee from note: both become a comma. Nothing else means anything here."""
    return text.replace(";", ",").replace("|", ",").lstrip("*!( ") or "no words"


def beancount_head(about: About) -> str:
    """Every account is opened on the day of the first entry that the file holds."""
    lines = [f"; {one_line(about.title)}", *([f"; {one_line(about.note)}"] if about.note else []), ""]
    lines += [f'option "title" {_quoted(one_line(about.title))}', f'option "operating_currency" "{about.currency}"', ""]
    return "\n".join([*lines, *(f"{about.first_on} open {name} {about.currency}" for name in about.accounts), "", ""])


def beancount(about: About) -> Writer:
    """An entry as a transaction with its number, id, source and tax point beneath."""
    accounts, currency = {name: f"  {name:<{about.width}}  " for name in about.accounts}, about.currency

    def write(entry: Entry) -> str:
        rows = "".join(f"{accounts[told.case.account]}{told.amount:>12} {currency}\n" for told in entry.postings)
        head = f"{entry.dated_on} * {_quoted(entry.words)}\n  reference: {_quoted(entry.reference)}\n"
        return f'{head}  uid: "{entry.uid}"\n  source: {_quoted(entry.source_kind)}\n  taxpoint: {entry.tax_point_on}\n{rows}\n'

    return write


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
