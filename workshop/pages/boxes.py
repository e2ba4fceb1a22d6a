"""The boxes that many sheets share: what a person types, read or refused with a sentence."""

import re
import unicodedata
import uuid
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.calc.money import parse_amount

TURNS_THE_LINE = re.compile("[\u202a-\u202e\u2066-\u2069]")  # signs that make a line read backwards
LOST = "The page has lost its number. Load it again."
UNPRINTABLE = _("There is a sign in it that no paper can print. Type it anew, do not paste it.")
MOST_MINUTES = 6000
QUANTITY = re.compile(r"[0-9]{1,5}([.,][0-9]{1,3})?")
NEVER_ALONE = {"inspect", "yes"}  # who says that hardware may go back in is named
MOST_AMOUNT = Decimal("1000000.00")


def plain_text(text: str) -> str:
    """The text, its lines ended by a line feed. ValueError with a sentence for what no database keeps and no paper prints:
    control characters, half of a surrogate pair, signs that make a line read backwards."""
    plain = text.replace("\r\n", "\n")
    if TURNS_THE_LINE.search(plain) or any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in plain if sign not in "\n\t"):
        raise ValueError(str(UNPRINTABLE))
    return plain


class Plain(forms.CharField):
    """Django's own box for words; what plain_text refuses is refused beside the box."""

    def to_python(self, value: Any) -> Any:
        """The words as Django reads them."""
        try:
            return plain_text(str(super().to_python(value) or ""))
        except ValueError as refused:
            raise forms.ValidationError(str(refused)) from refused


class Words(forms.CharField):
    """Words of at most so many characters, on one line unless it has rows. `empty` is the sentence when they must not be empty."""

    def __init__(self, label: str, most: int, *, empty: str = "", rows: int = 0, hint: str = "", **attrs: Any) -> None:
        super().__init__(label=label, required=bool(empty), help_text=hint, error_messages={"required": empty})
        self.most, self.rows = most, rows
        self.widget = forms.Textarea({"rows": rows, **attrs}) if rows else forms.TextInput({"autocomplete": "off", **attrs})
        self.widget.is_required = self.required

    def clean(self, value: Any) -> str:
        """The words without spaces around. Refused: too long, and characters that no paper can print."""
        try:
            typed = plain_text(str(value or ""))  # before Django, whose own sentence about a NUL says nothing to do
        except ValueError as refused:
            raise forms.ValidationError(str(refused)) from refused
        words = str(super().clean(typed))
        if not self.rows:
            words = " ".join(words.split())
        if len(words) > self.most:
            raise forms.ValidationError(f"{len(words):,} characters. At most {self.most:,}: shorten it.")
        return words


class Amount(forms.CharField):
    """Money as a person types it, 1,234.50 or 1234,50; empty is None."""

    def __init__(self, label: str, *, hint: str = "") -> None:
        super().__init__(label=label, required=False, help_text=hint)
        self.widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The amount with two places, or None."""
        typed = str(super().clean(value))
        if not typed:
            return None
        try:
            amount = parse_amount(typed)
        except ValueError as refused:
            raise forms.ValidationError(str(refused)[:200]) from refused
        if amount > MOST_AMOUNT:
            raise forms.ValidationError(f"{typed} is more than {MOST_AMOUNT:,}. Read it again.")
        return amount


class Minutes(forms.CharField):
    """Whole minutes; empty is 0."""

    def __init__(self, label: str, *, hint: str = "") -> None:
        super().__init__(label=label, required=False, help_text=hint)
        self.widget = forms.TextInput({"inputmode": "numeric", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The minutes as int."""
        typed = str(super().clean(value))
        if not typed:
            return 0
        if not (typed.isascii() and typed.isdigit()) or len(typed) > 12:
            raise forms.ValidationError(f"“{typed[:20]}” is not whole minutes. Write figures only, 90 for an hour and a half.")
        if int(typed) > MOST_MINUTES:
            raise forms.ValidationError(
                f"{typed} minutes are {int(typed) // 60:,} hours. At most {MOST_MINUTES}: read it again or split it."
            )
        return int(typed)


class Quantity(forms.CharField):
    """How many of something, without its unit: 4, 8.4 or 8,4; empty is 1."""

    def __init__(self, label: str = "How many", *, hint: str = "") -> None:
        super().__init__(label=label, required=False, help_text=hint)
        self.widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The number as Decimal."""
        typed = str(super().clean(value)).strip()
        if not typed:
            return Decimal(1)
        if not QUANTITY.fullmatch(typed):
            raise forms.ValidationError(f"“{typed[:20]}” is not a number. Write figures only, 4 or 8.4; the unit belongs to the name.")
        if not (number := Decimal(typed.replace(",", "."))):
            raise forms.ValidationError("None of it. Write how many, or empty the row.")
        return number


def uid_field() -> forms.UUIDField:
    """The record's uid, made with the page, so that a second tap counts once."""
    wrong = {"required": LOST, "invalid": LOST}
    return forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, label="This page", error_messages=wrong)


class Made(forms.Form):
    """A form that makes a record."""

    uid = uid_field()


def one_of(label: str, choices: Any, empty: str, **more: Any) -> forms.ChoiceField:
    """One of up to seven, as boxes to press."""
    wrong = {"required": empty, "invalid_choice": empty}
    return forms.ChoiceField(label=label, choices=choices, widget=forms.RadioSelect, error_messages=wrong, **more)


class PartRows(forms.Form):
    """Rows of parts: name, how many, price, and what is known of the hardware. Call give_rows once the form is made."""

    PART = ("words", "quantity", "amount", "cost", "number", "reuse", "source", "fluid")

    def give_rows(self, rows: int, reuse: Any) -> None:
        """So many rows; `reuse` are the choices of whether hardware goes back in."""
        self.rows = rows
        for row in range(rows):
            self.fields |= {
                f"part_words_{row}": Words(f"Part {row + 1}", 120),
                f"part_quantity_{row}": Quantity(),
                f"part_amount_{row}": Amount("Price of all, net"),
                f"part_cost_{row}": Amount("Costs us"),
                f"part_number_{row}": Words("Part number", 60),
                f"part_reuse_{row}": forms.ChoiceField(
                    label="Back in", required=False, choices=[("", "no hardware of a joint"), *reuse], error_messages=NO_REUSE
                ),
                f"part_source_{row}": Words("Who says so", 160),
                f"part_fluid_{row}": Words("Filled once, as", 60, hint="engine oil, or its filter: once, however many lines drain it"),
            }

    def part_rows(self) -> list[dict[str, Any]]:
        """The boxes of the parts, row by row, and whether what is seldom needed was typed."""
        rows = [{name: self[f"part_{name}_{row}"] for name in self.PART} for row in range(self.rows)]
        return [{**row, "more": any(row[name].value() or row[name].errors for name in self.PART[3:])} for row in rows]

    def clean(self) -> dict[str, Any]:
        """A part has a name and a price; who lets hardware go back in is named."""
        typed = self.cleaned_data
        for row in range(self.rows):
            words, amount = typed.get(f"part_words_{row}"), typed.get(f"part_amount_{row}")
            if words and amount is None and f"part_amount_{row}" not in self.errors:
                self.add_error(f"part_amount_{row}", f"No price for “{words[:40]}”. Write it, or 0 if it is free.")
            if not words and f"part_words_{row}" not in self.errors and self._filled(row):
                self.add_error(f"part_words_{row}", "A price for what? Name the part.")
            if (
                typed.get(f"part_reuse_{row}") in NEVER_ALONE
                and not typed.get(f"part_source_{row}")
                and f"part_source_{row}" not in self.errors
            ):
                self.add_error(f"part_source_{row}", "Who says that it may go back in? Name the source, or choose never again.")
        return typed

    def _filled(self, row: int) -> bool:
        typed = self.cleaned_data
        return any(typed.get(f"part_{name}_{row}") not in (None, "") for name in self.PART[2:])

    def typed_parts(self) -> list[dict[str, Any]]:
        """The parts that were typed, by the names of their columns. Call it on a good form only."""
        typed, found = self.cleaned_data, []
        for row in range(self.rows):
            part = {COLUMN.get(name, name): typed.get(f"part_{name}_{row}") for name in self.PART}
            if part["words"] and part["amount"] is not None:
                found.append(part)
        return found


NO_REUSE = {"invalid_choice": "Choose whether it may go back in."}
COLUMN = {"number": "part_number", "source": "reuse_source"}  # of a row of parts, where the box is called otherwise


def shown_parts(parts: Iterable[Any]) -> dict[str, Any]:
    """Kept parts as their rows show them."""
    shown: dict[str, Any] = {}
    for row, part in enumerate(parts):
        shown |= {f"part_{name}_{row}": getattr(part, COLUMN.get(name, name)) for name in PartRows.PART}
        shown[f"part_quantity_{row}"] = f"{part.quantity.normalize():f}"
    return shown


def rows_in(data: Any, least: int = 3, most: int = 30) -> int:
    """How many rows of parts a page had."""
    rows = [int(name[11:]) + 1 for name in data if name.startswith("part_words_") and name[11:].isdecimal() and len(name) < 14]
    return min(max([least, *rows]), most)
