"""What is typed of fitted parts."""

from datetime import date
from typing import Any

from django import forms

from workshop import clock
from workshop.jobs.models import Card, Line
from workshop.pages.boxes import Made, Words, one_of
from workshop.worksheets.actions import PartIn
from workshop.worksheets.forms.joints import MOST_RUN, Figure
from workshop.worksheets.models import OldPart

MOST_ROWS = 16


class Day(forms.DateField):
    """A day, as the phone writes it."""

    def __init__(self, label: str, *, empty: str = "", hint: str = "") -> None:
        wrong = {"invalid": "Not a day. Write it as 2026-12-04.", "required": empty}
        widget = forms.DateInput({"type": "date"}, format="%Y-%m-%d")
        super().__init__(label=label, required=bool(empty), widget=widget, error_messages=wrong, help_text=hint)

    def clean(self, value: Any) -> Any:
        """The day; none before 1950 or after 2100."""
        day = super().clean(value)
        if day and not 1950 <= day.year <= 2100:
            raise forms.ValidationError("Not a day of this work. Read the year again.")
        return day


def of_line(card: Card, label: str = "Of line") -> forms.ModelChoiceField:  # type: ignore[type-arg]
    """One of the card's lines that stand, or none."""
    wrong = {"invalid_choice": "That line is not on this card.", "invalid_pk_value": "That line is not on this card."}
    lines = card.lines.exclude(answer=Line.Answer.WITHDRAWN)
    return forms.ModelChoiceField(lines, label=label, required=False, empty_label="no line", error_messages=wrong)


class FittingForm(Made):
    """Parts of one kind; their places come beside it, one row each."""

    part = Words("Part", 120, empty="No part. Write what was fitted.", list="parts-known")
    part_number = Words("Part number", 60, autocapitalize="characters")
    fitted_on = Day("Fitted on", empty="No day. Write when it was fitted.")
    km = Figure("At km", 1, most=MOST_RUN)
    must_be_taught = forms.BooleanField(label="Must be taught in before it may leave", required=False)
    old_part = one_of("The old ones", [("", "nothing came out"), *OldPart.choices], "Choose one of these.", required=False)

    def __init__(self, card: Card, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields = {"line": of_line(card), **self.fields}

    def clean_fitted_on(self) -> date:
        """Not a day to come."""
        day: date = self.cleaned_data["fitted_on"]
        if day > clock.today():
            raise forms.ValidationError(f"{day:%Y-%m-%d} is still to come. Write the day it was fitted.")
        return day


class RowForm(forms.Form):
    """One place: what was fitted there. A row without a word is left out."""

    position = Words("Place", 60, list="places-known")
    serial = Words("Serial", 60, autocapitalize="characters")
    code = Words("Code", 60, autocapitalize="characters")

    def clean(self) -> dict[str, Any]:
        """Words without a place are refused."""
        if self.filled() and "position" not in self.errors and not self.cleaned_data.get("position"):
            self.add_error("position", "No place. Write where it sits: cylinder 2, front left.")
        return self.cleaned_data

    def filled(self) -> bool:
        """Whether anything was typed in it."""
        return any(str(self.data.get(self.add_prefix(name), "")).strip() for name in self.fields)

    def row(self, part_number: str) -> PartIn:
        """The place and its part. Call it on a good form only."""
        return PartIn(**self.cleaned_data, part_number=part_number)


class TeachForm(forms.Form):
    """What the control unit showed; a photo comes beside it."""

    words = Words("What it showed", 200, hint="Or take a photo of it.")


class CorrectForm(forms.Form):
    """What was read wrongly off a part."""

    position = Words("Place", 60, empty="No place. Write where it sits: cylinder 2, front left.")
    serial = Words("Serial", 60, autocapitalize="characters")
    code = Words("Code", 60, autocapitalize="characters")
    part_number = Words("Part number", 60, autocapitalize="characters")
    reason = Words("Why", 200, empty="No reason. Say why, in one sentence: it stays in the history.")


class LetGoForm(forms.Form):
    """The owner's reason."""

    reason = Words("Why it may leave so", 200, empty="No reason. Say why, in one sentence: it is printed on the hand-over sheet.")


class TakeOffForm(forms.Form):
    """What became of a part that comes off."""

    became = one_of("What became of it", OldPart.choices, "Choose what became of it.")
