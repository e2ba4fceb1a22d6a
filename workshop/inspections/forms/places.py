"""What is typed about a place and how a vehicle came."""

from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from workshop import clock
from workshop.inspections.actions import INTAKE, Lone
from workshop.inspections.forms.common import Measured
from workshop.inspections.models import SiteCheck
from workshop.pages.boxes import LOST, Made, Plain, Words, one_of

WITHIN = [("30", "30 min"), ("60", "1 hour"), ("120", "2 hours"), ("240", "4 hours")]
LONE = {"alone", "within", "by_time", "call_name", "call_phone"}


class ClockTime(Plain):
    """A time of day, 14:30; empty is None."""

    def __init__(self, label: str, *, hint: str = "") -> None:
        super().__init__(label=label, required=False, help_text=hint)
        self.widget = forms.TextInput({"type": "time"})

    def clean(self, value: Any) -> Any:
        """The time."""
        typed = str(super().clean(value))
        if not typed:
            return None
        try:
            return time.fromisoformat(typed.zfill(5)).replace(second=0, microsecond=0, tzinfo=None)
        except ValueError:
            raise forms.ValidationError(f"“{typed[:20]}” is no time of day. Write it like 14:30.") from None


class SiteCheckForm(Made):
    """The place, and whether we work there, alone or not."""

    ground = Words("Ground", 120, empty="Nothing written. Say what it stands on: concrete, gravel, grass, level or not.")
    chocked = forms.BooleanField(label="Wheels chocked, brake on", required=False)
    stands = forms.BooleanField(label="Stands at hand, firm under them", required=False)
    traffic = Words("Traffic", 120, hint="Which side, how close.")
    people = Words("Children and animals", 120)
    verdict = one_of("Verdict", SiteCheck.Verdict.choices, "Choose one: work here, or do not work here.")
    why = Words("Why not here", 200)
    alone = forms.BooleanField(label="I work alone here", required=False)
    within = one_of("Check in within", WITHIN, "Choose one of the times.", required=False)
    by_time = ClockTime("Or by", hint="14:30")
    call_name = Words("Whom to call", 120)
    call_phone = Words("Number", 40, inputmode="tel")

    def clean(self) -> dict[str, Any]:
        """A refusal has a reason; who works alone and stays has a time and somebody to call."""
        typed = self.cleaned_data
        refused = typed.get("verdict") == SiteCheck.Verdict.REFUSED
        if refused and "why" not in self.errors and not typed["why"]:
            self.add_error("why", "No reason. Say why not here, in one sentence.")
        if typed.get("alone") and not refused:
            self._clean_lone(typed)
        return typed

    def _clean_lone(self, typed: dict[str, Any]) -> None:
        if not typed.get("within") and not typed.get("by_time") and not {"within", "by_time"} & set(self.errors):
            self.add_error("within", "No time. Choose by when you check in, or write it.")
        if not typed.get("call_name") and "call_name" not in self.errors:
            self.add_error("call_name", "Nobody. Write who is called when you do not check in.")
        if "call_phone" not in self.errors and sum(sign.isdigit() for sign in typed["call_phone"]) < 3:
            self.add_error("call_phone", "That is no number. Write the one to call.")

    def check(self) -> dict[str, Any]:
        """The keywords of check_site. Call it on a good form only."""
        typed = {name: value for name, value in self.cleaned_data.items() if name not in LONE}
        if not self.cleaned_data["alone"] or typed["verdict"] == SiteCheck.Verdict.REFUSED:
            return typed
        name, phone = self.cleaned_data["call_name"], self.cleaned_data["call_phone"]
        return {**typed, "lone": Lone(self._due(), name, phone)}

    def _due(self) -> datetime:
        """The time that was written, today or else tomorrow; else so many minutes from now."""
        if (at := self.cleaned_data["by_time"]) is None:
            return clock.now() + timedelta(minutes=int(self.cleaned_data["within"]))
        today = timezone.make_aware(datetime.combine(clock.today(), at))
        return today if today > clock.now() else timezone.make_aware(datetime.combine(clock.today() + timedelta(days=1), at))


class CheckInForm(forms.Form):
    """All is well, and when it is said again. `due` is the time the page shows."""

    due = forms.DateTimeField(widget=forms.HiddenInput, error_messages={"required": LOST, "invalid": LOST})
    minutes = forms.TypedChoiceField(choices=[("", "no more"), *WITHIN], coerce=int, empty_value=None, required=False)


class IntakeForm(Made):
    """How the vehicle came. Pictures come beside it."""

    km = Measured("Distance, km")
    hours = Measured("Hours")
    fuel = Words("Fuel", 60, hint="quarter, half, reserve lamp on")
    lamps = Words("Lamps that light", 120)
    damage = Words("Damage that is there", 500, rows=2)
    belongings = Words("Belongings left in it", 200)
    keys = Words("Keys", 120, hint="How many, and where they hang.")
    fitted_by_others = Words("Parts fitted by others", 200)
    begun_state = Words("How it was left", 500, rows=2, hint="What is open, undone or loose.")
    begun_parts = Words("Parts handed in", 500, rows=2)
    begun_missing = Words("What is missing", 500, rows=2)
    acknowledged_by = Words("Acknowledged by", 120, hint="Who stood beside it and said it is so.")

    def clean(self) -> dict[str, Any]:
        """A meter counts from zero and shows one place at most."""
        typed = self.cleaned_data
        for name in ("km", "hours"):
            value = typed.get(name)
            if value is not None and (value < 0 or value != value.quantize(Decimal("0.1"))):
                self.add_error(name, f"{value:f} is no figure of a meter. Read it again: from zero, one place at most.")
        return typed

    def begun_any(self) -> bool:
        """Whether the fold of the half-finished job opens."""
        return any(self[name].value() or self[name].errors for name in ("begun_state", "begun_parts", "begun_missing"))

    def intake(self) -> dict[str, Any]:
        """The arguments of take_intake but actor, card and photos. Call it on a good form only."""
        typed = self.cleaned_data
        return {"words": {name: typed[name] for name in INTAKE}, **{name: typed[name] for name in ("uid", "km", "hours")}}
