"""The boxes that many sheets share: what a person types, read or refused with a sentence."""

import re
import unicodedata
import uuid
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from workshop.calc.money import parse_amount

TURNS_THE_LINE = re.compile("[\u202a-\u202e\u2066-\u2069]")  # signs that make a line read backwards
LOST = "The page has lost its number. Load it again."
UNPRINTABLE = _("There is a sign in it that no paper can print. Type it anew, do not paste it.")
MOST_MINUTES = 6000
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
