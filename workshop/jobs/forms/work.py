"""What is typed under the vehicle: times, how it is left, what is opened to look."""

from datetime import datetime
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.utils import timezone

from workshop import clock
from workshop.calc.labour import SetPrice
from workshop.jobs.actions.lines import PLAIN_WORDS_MOST
from workshop.jobs.models import Card, CardStep, Spell
from workshop.pages.boxes import Made, Words, one_of

MOST_LOOK = 280
FAR_DAYS = 20 * 366
MINUTE = "%Y-%m-%dT%H:%M"


class When(forms.DateTimeField):
    """A day and time as a phone sends it."""

    def __init__(self, label: str, *, empty: str = "", hint: str = "") -> None:
        wrong = {"required": empty, "invalid": "That is no day and time. Write it like 2026-12-04 08:00."}
        formats = [MINUTE, "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"]
        widget = forms.DateTimeInput({"type": "datetime-local"}, format=MINUTE)
        super().__init__(label=label, required=bool(empty), help_text=hint, input_formats=formats, widget=widget, error_messages=wrong)

    def clean(self, value: Any) -> Any:
        """The moment, aware, or None. Refused more than 20 years from today: that is a slip of the finger."""
        moment = super().clean(value)
        if moment and abs((moment.date() - clock.today()).days) > FAR_DAYS:
            raise forms.ValidationError(f"The year {moment.year} is more than 20 years off. Write the day again.")
        return moment


class SpellForm(forms.Form):
    """From when to when somebody worked, and why that is written anew."""

    started_at = When("Began", empty="No time. Write when work began.")
    stopped_at = When("Ended", hint="Empty: the clock still runs.")
    reason = Words("Why it is put right", 200, empty="No reason. Say why, in one sentence: it stays in the history.")

    def times(self, spell: Spell) -> dict[str, Any]:
        """What was typed; a box that shows the same minute as before keeps its seconds. Call it on a good form only."""
        return {name: _kept(self.cleaned_data[name], getattr(spell, name)) for name in ("started_at", "stopped_at")}


def _kept(typed: datetime | None, was: datetime | None) -> datetime | None:
    if typed and was and timezone.localtime(was).strftime(MINUTE) == timezone.localtime(typed).strftime(MINUTE):
        return was
    return typed


class LeaveForm(Made):
    """How a vehicle is left. Pictures come beside it."""

    state = Words("State", 300, rows=2, empty="Nothing written. Say what is open, loose, drained or hanging.")
    supports = Words("Stands on", 170, empty="Nothing written. Say on what it stands: wheels, four stands, chocks.")
    wheels = one_of("Wheels", [("on", "all on"), ("off", "one or more off")], "Choose one: all on, or one or more off.")
    keys = Words("Keys", 120, empty="Nothing written. Say where the keys are.")
    no_start_card = forms.BooleanField(label="Do-not-start card hangs on the wheel", required=False)
    told = Words("Told", 120, empty="Nobody named. Write who knows how it stands.")

    def leaving(self) -> dict[str, Any]:
        """The keywords of leave_vehicle. Call it on a good form only."""
        typed = dict(self.cleaned_data)
        return {"wheels_on": typed.pop("wheels") == "on", **typed}


class BackForm(forms.Form):
    """What is seen on coming back. Pictures come beside it."""

    found = one_of("How it stands", [("as_left", "as it was left"), ("changed", "changed")], "Walk round it, then choose one.")
    words = Words("What you see", MOST_LOOK, rows=2)

    def clean(self) -> dict[str, Any]:
        """A change has words."""
        if self.cleaned_data.get("found") == "changed" and not self.cleaned_data.get("words") and "words" not in self.errors:
            self.add_error("words", "Changed how? Write what you see.")
        return self.cleaned_data


class StripForm(Made):
    """What is opened only to look."""

    words = Words("What is opened, and what for", 200, empty="Nothing written. Say what is opened to look at what.")
    why = Words("Why, for the customer", 500, rows=2, empty="Nothing written. Say why it must be opened to know.")
    steps = forms.ModelMultipleChoiceField(
        CardStep.objects.none(),
        label="Steps to open",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Nothing is opened. Choose at least one step: a strip is priced by what it opens and closes.",
            "invalid_choice": "That step is not on this card.",
            "invalid_pk_value": "That step is not on this card.",
        },
    )
    price: SetPrice | None = None

    def __init__(self, card: Card, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["why"].help_text = f"{PLAIN_WORDS_MOST} words at most."
        self.fields["steps"].queryset = card.steps.all()  # type: ignore[attr-defined]

    def clean_why(self) -> str:
        """At most 25 plain words."""
        words = str(self.cleaned_data["why"])
        if (count := len(words.split())) > PLAIN_WORDS_MOST:
            raise forms.ValidationError(f"{count} words. At most {PLAIN_WORDS_MOST}: leave out what does not decide.")
        return words


def counted(text: str) -> Decimal | None:
    """How many are in hand, 3 or 8,4; None for what is no number."""
    try:
        return Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        return None
