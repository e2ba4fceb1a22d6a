"""What is typed of deviations and follow-ups."""

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from workshop import clock
from workshop.jobs.models import Card
from workshop.pages.boxes import Made, Words, one_of
from workshop.worksheets.actions import FollowUpIn
from workshop.worksheets.forms.joints import MOST_RUN, Figure
from workshop.worksheets.forms.parts import Day, of_line
from workshop.worksheets.models import FollowUp, Joint


class DeviationForm(Made):
    """What differs from the maker."""

    makers_value = Words("The maker says", 200, empty="Nothing written. Write what the maker says, with its source.")
    fitted_value = Words("Fitted or set", 200, empty="Nothing written. Write what was fitted or set instead.")
    reason = Words("Why", 200, empty="No reason. Say why, in one sentence.")
    agreed_by = Words("Agreed by", 120, empty="Nobody named. Write who agreed to it.")

    def __init__(self, card: Card, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        joints = Joint.objects.filter(line__card=card, struck_at=None)
        wrong = {"invalid_choice": "That joint is not on this card.", "invalid_pk_value": "That joint is not on this card."}
        joint = forms.ModelChoiceField(joints, label="Joint", required=False, empty_label="no joint", error_messages=wrong)
        self.fields = {"line": of_line(card), "joint": joint, **self.fields}


class FollowUpForm(Made):
    """What to look at again, and by when: a day, or a distance or hours from now."""

    words = Words("What", 200, empty="Nothing written. Say what is to be looked at again.")
    why = Words("Why", 200)
    due_on = Day("By day")
    after_km = Figure("In km", 0, most=MOST_RUN)
    after_hours = Figure("In hours", 0, most=MOST_RUN)

    def __init__(self, run: dict[str, Decimal | None], *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.run = run

    def clean_due_on(self) -> date | None:
        """Not a day that is over."""
        day: date | None = self.cleaned_data["due_on"]
        if day and day < clock.today():
            raise forms.ValidationError(f"{day:%Y-%m-%d} is over. Write a day to come.")
        return day

    def clean(self) -> dict[str, Any]:
        """At least one of the three, and a meter to count from."""
        typed = self.cleaned_data
        for name, unit in (("after_km", "km"), ("after_hours", "h")):
            if typed.get(name) is not None and self.run[unit] is None:
                self.add_error(name, "No reading of that meter yet. Read it in the vehicle book first, or write a day.")
        if not self.errors and typed.get("due_on") is None and typed.get("after_km") is None and typed.get("after_hours") is None:
            self.add_error("due_on", "No day and no distance. Give at least one of them: then it comes back.")
        return typed

    def what(self) -> FollowUpIn:
        """What to look at again. Call it on a good form only."""
        typed = self.cleaned_data
        return FollowUpIn(typed["words"], typed["why"], typed["due_on"], self._at("after_km", "km"), self._at("after_hours", "h"))

    def _at(self, name: str, unit: str) -> Decimal | None:
        after, run = self.cleaned_data[name], self.run[unit]
        return None if after is None or run is None else run + after


class CloseForm(forms.Form):
    """What came of a follow-up."""

    state = one_of("Came of it", [(FollowUp.State.DONE, "done"), (FollowUp.State.REFUSED, "refused")], "Choose one: done or refused.")
    words = Words("In a word", 200, empty="No word. Say what was seen, or why it was refused.")
