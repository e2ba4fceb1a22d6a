"""What is typed about a place and a finding, read or refused with a sentence."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from workshop.inspections import queries
from workshop.inspections.actions import CONFIDENCE, INTAKE
from workshop.inspections.models import Finding, SiteCheck
from workshop.pages.boxes import Made, Words, one_of
from workshop.photos.models import Photo

ANOTHER = "other"
MOST_PHOTOS = 12
MOST_MEASURED = Decimal("999999.999")


class Measured(forms.CharField):
    """A measured number, 4.8 or 4,8; empty is None."""

    def __init__(self, label: str) -> None:
        super().__init__(label=label, required=False)
        self.widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The number as Decimal, at most three places. copy_abs, because abs raises on an exponent that no context holds."""
        typed = str(super().clean(value)).replace("−", "-")
        if not typed:
            return None
        try:
            number = Decimal(typed.replace(",", "."))
        except InvalidOperation:
            raise forms.ValidationError(f"“{typed[:20]}” is not a number. Write figures like 4.8.") from None
        if not number.is_finite() or number.copy_abs() > MOST_MEASURED or number != number.quantize(Decimal("0.001")):
            raise forms.ValidationError(f"“{typed[:20]}” does not fit. At most six figures before the point and three behind it.")
        return number


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


class FindingForm(Made):
    """One finding. Pictures come beside it; those that were taken before a refusal come as `kept`."""

    place = one_of("Place", (), "Choose a place, or write another one.", required=False)
    other_place = Words("Another place", 60)
    condition = one_of("Condition", Finding.Condition.choices, "Choose one by its shape.")
    words = Words("What you see", 200, empty="Nothing written. Say what you see, in a few words.")
    measured = Measured("Value")
    unit = Words("Unit", 12, hint="mm, bar, kPa, V")
    limit_words = Words("Limit", 120, hint="As its source says it: at least 3.0 mm.")
    limit_source = Words("Where the limit stands", 160, hint="Title, edition, page.")

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        named = [(row["name"], row["name"]) for row in queries.listed("places")]
        self.fields["place"].choices = [*named, (ANOTHER, "another place")]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A place, a unit with a number, a source with a limit."""
        typed = self.cleaned_data
        place = typed.get("other_place") if typed.get("place") in {ANOTHER, "", None} else typed["place"]
        if not place and not {"place", "other_place"} & set(self.errors):
            self.add_error("place", "No place. Choose one, or write another one.")
        if typed.get("measured") is not None and not typed.get("unit") and "unit" not in self.errors:
            self.add_error("unit", f"{typed['measured']:f} of what? Write the unit.")
        if typed.get("limit_words") and not typed.get("limit_source") and "limit_source" not in self.errors:
            self.add_error("limit_source", "A limit has a source. Write where it stands, or leave the limit empty.")
        return {**typed, "place": place}

    def finding(self, photos: list[Photo]) -> dict[str, Any]:
        """The keywords of add_finding. Call it on a good form only."""
        return {**{name: value for name, value in self.cleaned_data.items() if name != "other_place"}, "photos": photos}


class CauseForm(forms.Form):
    """Which other finding caused this one."""

    cause = forms.ModelChoiceField(
        Finding.objects.none(),
        label="Caused by",
        to_field_name="uid",
        widget=forms.RadioSelect,
        empty_label=None,
        error_messages={"required": "Choose the finding that caused it.", "invalid_choice": "That finding is not on this card."},
    )
    confidence = one_of("How sure", [(word, word) for word in CONFIDENCE], "Choose one: sure, likely, possible.", initial="likely")

    def __init__(self, finding: Finding, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["cause"].queryset = queries.others(finding)  # type: ignore[attr-defined]
