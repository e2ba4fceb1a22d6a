"""What was brought over: balances in boxes, unpaid invoices as lines of a table."""

import csv
import uuid
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.forms.span import day_field
from workshop.calc.money import ZERO, parse_amount
from workshop.company.queries import tax_rates
from workshop.customers.models import Party
from workshop.pages.boxes import MOST_AMOUNT, Amount, Words, uid_field

MOST_LINES = 2000
SHAPE = "customer, number, due day or nothing, amount"


class Balance(Amount):
    """Money that may be below zero; empty is nothing."""

    def clean(self, value: Any) -> Any:
        """The amount with two places, 0.00 for nothing."""
        typed = str(value or "").strip()
        if not typed.startswith(("-", "−", "–")):
            return super().clean(value) or ZERO
        try:
            amount = parse_amount(typed[:40], negative=True)
        except ValueError as refused:
            raise forms.ValidationError(str(refused)[:200]) from refused
        if -amount > MOST_AMOUNT:
            raise forms.ValidationError(f"{typed[:40]} is more than {MOST_AMOUNT:,}. Read it again.")
        return amount


class OpeningForm(forms.Form):
    """The evening of a day: what is in the bank and in cash, output tax owed, who owes what."""

    use_required_attribute = False
    uid = uid_field()
    as_of = day_field("On the evening of")
    bank = Balance("In the bank", hint="A minus in front when it is overdrawn.")
    cash = Balance("In cash")
    owed = Words("Unpaid invoices", 200_000, rows=8, hint=f"One a line: {SHAPE}. From a table: comma, semicolon or tab between.")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, initial={"uid": uuid.uuid4()})
        self.codes = sorted({rate.code for rate in tax_rates()})
        for code in self.codes:
            self.fields[f"tax_{code}"] = Balance(f"Output tax owed, {code}")
        self.order_fields(["uid", "as_of", "bank", "cash", *(f"tax_{code}" for code in self.codes), "owed"])

    def clean_owed(self) -> list[actions.Owed]:
        """The lines, read. All that is wrong is told, by line."""
        lines = [(no, line) for no, line in enumerate(self.cleaned_data["owed"].split("\n"), start=1) if line.strip()]
        if len(lines) > MOST_LINES:
            raise forms.ValidationError(f"{len(lines):,} lines. At most {MOST_LINES:,}: the rest can be in one line a customer.")
        cells = [(no, _cells(line)) for no, line in lines]
        if cells and cells[0][1][0].casefold() == "customer":
            cells = cells[1:]
        people = queries.called({row[0] for _, row in cells})
        read, wrong, taken = [], [], set[tuple[str, str]]()
        for no, row in cells:
            faults = [f"Line {no}, {column}: {what}" for column, what in _faults(row, people)]
            if not faults and (key := (row[0].casefold(), row[1])) in taken:
                faults = [f"Line {no}, number: {row[1]} of {row[0]} is there twice."]
            elif not faults:
                taken.add(key)
                read.append(_owed(row, people))
            wrong += faults
        if wrong:
            raise forms.ValidationError(" ".join([*wrong[:20], *([f"And {len(wrong) - 20} more."] if len(wrong) > 20 else [])]))
        return read

    def told(self) -> dict[str, Any]:
        """What was typed, as write_opening takes it."""
        typed = self.cleaned_data
        held: dict[str, Decimal] = {role: typed[role] for role in ("bank", "cash")}
        tax = {code: typed[f"tax_{code}"] for code in self.codes}
        return {"as_of": typed["as_of"], "held": held, "tax": tax, "owed": typed["owed"], "request_uid": typed["uid"]}


def _cells(line: str) -> list[str]:
    mark = next((mark for mark in "\t;" if mark in line), ",")
    return [cell.strip() for cell in next(csv.reader([line], delimiter=mark, skipinitialspace=True))]


def _faults(row: list[str], people: dict[str, list[Party]]) -> Iterator[tuple[str, str]]:
    if len(row) != 4:
        yield "whole", f"{len(row)} cells, not four: {SHAPE}."
        return
    name, number, due, amount = row
    found = people.get(name.casefold(), [])
    if len(found) != 1:
        many = f"{len(found)} customers are called {name[:60]}. Put them together first."
        yield "customer", many if found else f"no customer is called {name[:60] or 'nothing'}. Write the name as on the customer's sheet."
    if not number or len(number) > 40:
        yield "number", "empty." if not number else f"{len(number)} characters, at most 40."
    if due and _day(due) is None:
        yield "due", f"{due[:20]} is no day. Write it as 2026-12-31."
    try:
        if not 0 < parse_amount(amount[:40]) <= MOST_AMOUNT:
            yield "amount", f"{amount[:40]} is not from 0.01 to {MOST_AMOUNT:,}."
    except ValueError as refused:
        yield "amount", str(refused)[:200]


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _owed(row: list[str], people: dict[str, list[Party]]) -> actions.Owed:
    name, number, due, amount = row
    (party,) = people[name.casefold()]
    return actions.Owed(party=party, number=number, amount=parse_amount(amount), due_on=_day(due) if due else None)
