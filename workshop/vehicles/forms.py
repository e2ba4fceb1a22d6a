"""A file of customers and vehicles, read or refused by line and column."""

import re
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import EmailValidator

from workshop.calc.tablefile import MOST_FAULTS, Fault, Row, read
from workshop.pages.boxes import plain_text
from workshop.vehicles.queries import Taken

MOST_ROWS, MOST_BYTES = 5000, 4_000_000
# The column, its longest text, and what it means: this is the schema, and the page prints it.
COLUMNS = {
    "customer_number": (30, "your own number for the customer; the same customer has the same one in every line"),
    "kind": (10, "private or firm; empty: private"),
    "name": (120, "the person or the firm; needed"),
    "address": (500, "as on an envelope; lines may be broken inside quotes"),
    "phone": (30, "telephone"),
    "email": (254, "mail address"),
    "contact": (120, "whom to ask for; empty: the name"),
    "registration_number": (40, "of a firm, as it stands on its papers"),
    "note": (1000, "anything else"),
    "make": (60, "maker of the vehicle; needed when the line has a vehicle"),
    "model": (60, "model; needed when the line has a vehicle"),
    "plate": (20, "number plate"),
    "vin": (20, "vehicle identification number, or the number of the frame"),
    "engine_code": (20, "engine code"),
    "built_on": (10, "day it was built, 2019-04-30; a year alone is taken as its first day"),
}
NEEDED = ("name",)
VEHICLE = ("make", "model", "plate", "vin", "engine_code", "built_on")
DAY = re.compile(r"\d{4}(-\d{2}-\d{2})?", re.ASCII)


class FileForm(forms.Form):
    """The file, or its text once it was looked through."""

    file = forms.FileField(label="File", required=False, widget=forms.FileInput({"accept": ".csv,text/csv"}))
    text = forms.CharField(required=False, strip=False, widget=forms.HiddenInput)
    name = forms.CharField(required=False, max_length=120, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        """`data` as bytes and the `name` of the file."""
        typed = super().clean() or {}
        file, text = typed.get("file"), typed.get("text") or ""
        if file is None and not text:
            if "file" not in self.errors:
                self.add_error("file", "No file. Choose the one to take in.")
            return typed
        size = file.size if file else len(text.encode("utf-8", "replace"))
        if size > MOST_BYTES:
            self.add_error("file", f"{size:,} bytes. At most {MOST_BYTES:,}: cut the file in two.")
            return typed
        try:
            typed["data"] = file.read() if file else text.encode()
        except UnicodeEncodeError:
            self.add_error("file", "There is a sign in it that cannot be kept. Choose the file anew.")
        typed["name"] = (file.name if file else typed.get("name")) or "without a name"
        return typed


def read_file(data: bytes) -> tuple[list[Taken], list[Fault]]:
    """The rows of a file as the models take them, and what is wrong by line and column. With a fault no row is to be trusted."""
    rows, faults = read(data, COLUMNS, NEEDED, MOST_ROWS)
    if faults:
        return [], faults
    taken = [_row(row, faults) for row in rows]
    return ([], faults[:MOST_FAULTS]) if faults else (taken, [])


def _row(row: Row, faults: list[Fault]) -> Taken:
    cells = {name: _cell(row, name, faults) for name in COLUMNS}
    kind = cells["kind"].lower() or "private"
    if kind not in {"private", "firm"}:
        faults.append(Fault(row.line, "kind", f"“{kind[:20]}” is neither private nor firm."))
    if not cells["name"]:
        faults.append(Fault(row.line, "name", "is empty. Write who the customer is."))
    try:
        EmailValidator()(cells["email"] or "nobody@place.example")
    except ValidationError:
        faults.append(Fault(row.line, "email", f"“{cells['email'][:40]}” is no mail address."))
    party = {"number": cells["customer_number"], "kind": kind, **{name: cells[name] for name in ("name", "address", "note")}}
    party["tax_number"] = cells["registration_number"]
    contact = {"name": cells["contact"] or cells["name"], "phone": cells["phone"], "email": cells["email"]}
    return Taken(row.line, party, contact, _vehicle(row, cells, faults))


def _vehicle(row: Row, cells: dict[str, str], faults: list[Fault]) -> dict[str, Any]:
    if not any(cells[name] for name in VEHICLE):
        return {}
    faults += [Fault(row.line, name, "is empty. A vehicle has a make and a model.") for name in ("make", "model") if not cells[name]]
    built = cells["built_on"]
    told: dict[str, Any] = {name: cells[name] for name in VEHICLE} | {"plate": cells["plate"].upper(), "vin": cells["vin"].upper()}
    try:
        told["built_on"] = date.fromisoformat(built if len(built) != 4 else f"{built}-01-01") if built else None
        if built and not DAY.fullmatch(built):
            raise ValueError
    except ValueError:
        faults.append(Fault(row.line, "built_on", f"“{built[:20]}” is no day. Write it as 2019-04-30, or the year alone."))
    return told


def _cell(row: Row, name: str, faults: list[Fault]) -> str:
    text, most = row.cells[name], COLUMNS[name][0]
    try:
        text = plain_text(text)
    except ValueError as refused:
        faults.append(Fault(row.line, name, str(refused)))
        return ""
    if name not in {"address", "note"}:
        text = " ".join(text.split())
    if len(text) > most:
        faults.append(Fault(row.line, name, f"{len(text):,} characters. At most {most:,}."))
    return text[:most]
