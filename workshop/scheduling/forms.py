"""What is typed on the sheets of a stop and of a round, read or refused with a sentence."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django import forms

from workshop import clock
from workshop.calc.money import parse_amount
from workshop.pages.boxes import LOST, Amount, Made, Words

NO_TIME = "That is no day and time. Write it like 2026-12-04 08:00."
DAYS_BACK, DAYS_AHEAD = 60, 731


class Number(forms.CharField):
    """A number as a person types it, from a least to a most; nothing typed is None when it is optional, else refused."""

    def __init__(self, label: str, unit: str, *, least: int, most: int, places: int = 0, optional: bool = False, hint: str = "") -> None:
        super().__init__(label=label, required=False, help_text=hint)
        self.least, self.most, self.places, self.unit, self.optional = least, most, places, unit, optional
        self.widget = forms.TextInput({"inputmode": "decimal" if places else "numeric", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The Decimal with its places, or None."""
        typed = str(super().clean(value)).strip()
        if not typed and self.optional:
            return None
        if not typed:
            raise forms.ValidationError(f"Empty. Write {self.unit} from {self.least} to {self.most:,}.")
        try:
            number = parse_amount(typed[:40], places=self.places)
        except ValueError as refused:
            places = " with at most one place" if self.places else ""
            said = f"“{typed[:20]}” is not {self.unit}. Write figures from {self.least} to {self.most:,}{places}."
            raise forms.ValidationError(said) from refused
        if not self.least <= number <= self.most:
            raise forms.ValidationError(f"{typed[:40]} is not from {self.least} to {self.most:,} {self.unit}. Read it again.")
        return number


class Minutes(Number):
    """Whole minutes."""

    def __init__(self, label: str, *, least: int, most: int, optional: bool = False, hint: str = "") -> None:
        super().__init__(label, "minutes", least=least, most=most, optional=optional, hint=hint)

    def clean(self, value: Any) -> Any:
        """The minutes as int, or None."""
        number = super().clean(value)
        return None if number is None else int(number)


class Moment(forms.DateTimeField):
    """A day and a time where the business is, not long gone and not in another age."""

    def __init__(self, label: str) -> None:
        super().__init__(
            label=label,
            input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"],
            widget=forms.DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
            error_messages={"required": "No day and time. Write when you said you would come.", "invalid": NO_TIME},
        )

    def to_python(self, value: Any) -> datetime | None:
        """The moment, aware. An hour that the change of clocks leaves out or doubles is refused with a sentence."""
        try:
            return super().to_python(value)
        except forms.ValidationError as refused:
            if refused.code in {"required", "invalid"}:
                raise
            raise forms.ValidationError("The clocks change in that hour. Choose one before or after it.") from refused

    def clean(self, value: Any) -> Any:
        """From 60 days ago to two years ahead."""
        at, now = super().clean(value), clock.now()
        if not now - timedelta(days=DAYS_BACK) <= at <= now + timedelta(days=DAYS_AHEAD):
            raise forms.ValidationError(f"{at:%Y-%m-%d} is more than {DAYS_BACK} days ago or two years ahead. Read the year again.")
        return at


class PlanForm(forms.Form):
    """When, how long, and the way there."""

    at = Moment("When")
    minutes = Minutes("How long, min", least=5, most=960)
    km_each_way = Number("Km, one way", "km", least=0, most=2000, places=1, optional=True, hint="By road, as if for this stop alone.")
    minutes_each_way = Minutes("Drive, min one way", least=0, most=1440, optional=True)
    extra_words = Words("Ferry or toll", 60, hint="Which, there and back. Empty without one.")
    extra_amount = Amount("Its price, net")

    def clean(self) -> dict[str, Any]:
        """A price has a name, and a name a price."""
        typed = self.cleaned_data
        named, amount = typed.get("extra_words"), typed.get("extra_amount")
        if amount is not None and not named and "extra_words" not in self.errors:
            self.add_error("extra_words", f"{amount} for what? Write which ferry or toll.")
        if named and not amount and "extra_amount" not in self.errors:
            self.add_error("extra_amount", f"What does “{named[:40]}” cost? Write its price, or empty the box beside it.")
        return typed

    def planned(self) -> dict[str, Any]:
        """The keywords of plan_stop or change_stop. Call it on a good form only."""
        typed = self.cleaned_data
        return {**typed, "km_each_way": typed["km_each_way"] or Decimal(0), "minutes_each_way": typed["minutes_each_way"] or 0}


class StopForm(Made, PlanForm):
    """A new stop."""


class VisitForm(PlanForm):
    """A stop again; it knows how often it was changed when the sheet showed it."""

    seen = forms.IntegerField(
        widget=forms.HiddenInput, min_value=0, label="This page", error_messages={"required": LOST, "invalid": LOST, "min_value": LOST}
    )


class CancelForm(forms.Form):
    """Why we do not go."""

    reason = Words("Why", 200, empty="No reason. Say why, in one sentence: it stays in the history.")


class WaiveForm(forms.Form):
    """Why nobody pays for coming."""

    reason = Words("Why", 200, empty="No reason. Say why, in one sentence: it stays on the card.")


class RoundForm(forms.Form):
    """What was really driven on a day."""

    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)
    km = Number("Km of the whole round", "km", least=0, most=5000, places=1, hint="From your door to your door.")
    minutes = Minutes("At the wheel, min", least=0, most=1440, optional=True, hint="Empty: each stop is charged its minutes alone.")

    def driven(self) -> dict[str, Any]:
        """The keywords of set_round. Call it on a good form only."""
        return {"km": self.cleaned_data["km"], "minutes": self.cleaned_data["minutes"], "seen": self.cleaned_data["seen"]}
