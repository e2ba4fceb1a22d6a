"""What is typed about a place and how a vehicle came."""

from decimal import Decimal
from typing import Any

from django import forms

from workshop.inspections.actions import INTAKE
from workshop.inspections.forms.common import Measured
from workshop.inspections.models import SiteCheck
from workshop.pages.boxes import Made, Words, one_of


class SiteCheckForm(Made):
    """The place, and whether we work there."""

    ground = Words("Ground", 120, empty="Nothing written. Say what it stands on: concrete, gravel, grass, level or not.")
    chocked = forms.BooleanField(label="Wheels chocked, brake on", required=False)
    stands = forms.BooleanField(label="Stands at hand, firm under them", required=False)
    traffic = Words("Traffic", 120, hint="Which side, how close.")
    people = Words("Children and animals", 120)
    verdict = one_of("Verdict", SiteCheck.Verdict.choices, "Choose one: work here, or do not work here.")
    why = Words("Why not here", 200)

    def clean(self) -> dict[str, Any]:
        """A refusal has a reason."""
        if self.cleaned_data.get("verdict") == SiteCheck.Verdict.REFUSED and "why" not in self.errors and not self.cleaned_data["why"]:
            self.add_error("why", "No reason. Say why not here, in one sentence.")
        return self.cleaned_data


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
