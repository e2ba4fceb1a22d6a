"""What is typed about a row, on the list and on a walk."""

import re
from decimal import Decimal
from typing import Any

from django import forms

from workshop.pages.boxes import Made, Plain, Words, one_of
from workshop.rounds import queries
from workshop.rounds.actions.walking import WRITTEN
from workshop.rounds.models import RoundRow, Row

NUMBER = re.compile(r"[-−]?[0-9]{1,6}([.,][0-9]{1,3})?")
MOST_PHOTOS = 12


class Measured(Plain):
    """A measured number, 4.8 or 4,8; empty is None."""

    def __init__(self, label: str) -> None:
        super().__init__(label=label, required=False)
        self.widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The number as Decimal, at most three places."""
        typed = str(super().clean(value))
        if typed and not NUMBER.fullmatch(typed):
            raise forms.ValidationError(f"“{typed[:20]}” is not a number. Write figures like 4.8, at most three behind the point.")
        return Decimal(typed.replace("−", "-").replace(",", ".")) if typed else None


class RowForm(Made):
    """One row of the list."""

    system = Words("System", 60, empty="No system. Write which, like brakes.", list="systems")
    words = Words("What to look at", 120, empty="Nothing to look at. Write what, in a few words.")
    look_for = Words("Look for", 200, hint="worn, wet, loose, cracked")
    unit = Words("Measured in", 12, hint="mm, bar, V; empty where nothing is measured")
    limit_words = Words("Limit", 120, hint="As its source says it. Empty without a source.")
    limit_source = Words("Where the limit stands", 160, hint="Title, edition, page.")
    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=16)

    def clean(self) -> dict[str, Any]:
        """A limit has a source."""
        typed = self.cleaned_data
        if typed.get("limit_words") and not typed.get("limit_source") and "limit_source" not in self.errors:
            self.add_error("limit_source", "A limit has a source. Write where it stands, or leave the limit empty.")
        if typed.get("limit_source") and not typed.get("limit_words") and "limit_words" not in self.errors:
            self.add_error("limit_words", "A source of which limit? Write the limit as it says it.")
        return typed

    def row(self) -> dict[str, str]:
        """The columns. Call it on a good form only."""
        return {name: self.cleaned_data[name] for name in queries.COPIED}


def form_of(row: Row) -> RowForm:
    """The form as the row stands."""
    shown = {name: getattr(row, name) for name in queries.COPIED}
    return RowForm(initial={**shown, "uid": row.uid, "seen": queries.seen_of(row)})


class FoundForm(Made):
    """How the thing of a row is. Pictures come beside it; those that were taken before a refusal come as `kept`."""

    condition = one_of("Condition", [(state.value, state.label) for state in WRITTEN], "Choose one by its shape.")
    words = Words("What you see", 200, empty="Nothing written. Say what you see, in a few words.")
    measured = Measured("Value")
    unit = Words("Unit", 12, hint="mm, bar, V")

    def clean(self) -> dict[str, Any]:
        """A unit with a number."""
        typed = self.cleaned_data
        if typed.get("measured") is not None and not typed.get("unit") and "unit" not in self.errors:
            self.add_error("unit", f"{typed['measured']:f} of what? Write the unit.")
        return typed


def found_form(row: RoundRow) -> FoundForm:
    """The form before anything is typed."""
    return FoundForm(initial={"words": row.words, "unit": row.unit})
