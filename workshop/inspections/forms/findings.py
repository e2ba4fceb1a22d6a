"""What is typed about a finding."""

from typing import Any

from django import forms

from workshop.inspections import queries
from workshop.inspections.actions import CONFIDENCE
from workshop.inspections.actions.lines import SEEN
from workshop.inspections.forms.common import Measured
from workshop.inspections.models import Finding
from workshop.jobs.models import Card
from workshop.pages.boxes import Made, Words, one_of
from workshop.photos.models import Photo

ANOTHER = "other"
MOST_PHOTOS = 12


class Placed(Made):
    """A sheet that says where."""

    place = one_of("Place", (), "Choose a place, or write another one.", required=False)
    other_place = Words("Another place", 60)

    def __init__(self, *args: Any, card: Card | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        shown, meant = queries.places(card)
        if self.data.get("place") in meant - set(shown):
            shown = [*shown, self.data["place"]]  # the page is from before the places changed
        self.fields["place"].choices = [*((name, name) for name in shown), (ANOTHER, "another place")]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A place, chosen or written."""
        typed = self.cleaned_data
        place = typed.get("other_place") if typed.get("place") in {ANOTHER, "", None} else typed["place"]
        if not place and not {"place", "other_place"} & set(self.errors):
            self.add_error("place", "No place. Choose one, or write another one.")
        return {**typed, "place": place}


class FindingForm(Placed):
    """One finding. Pictures come beside it; those that were taken before a refusal come as `kept`."""

    condition = one_of("Condition", Finding.Condition.choices, "Choose one by its shape.")
    words = Words("What you see", 200, hint="May stay empty beside a photo.")
    measured = Measured("Value")
    unit = Words("Unit", 12, hint="mm, bar, kPa, V")
    limit_words = Words("Limit", 120, hint="As its source says it: at least 3.0 mm.")
    limit_source = Words("Where the limit stands", 160, hint="Title, edition, page.")
    previous_work = Words("Previous work there", 200, hint="Done by others in 2024, sealant on the flange.")

    pictured = False  # a photo came with it

    def clean(self) -> dict[str, Any]:
        """Words or a photo, a unit with a number, a source with a limit."""
        typed = super().clean()
        if not typed.get("words") and "words" not in self.errors:
            if not self.pictured:
                self.add_error("words", "Nothing written. Say what you see, in a few words, or take a photo.")
            typed["words"] = f"{typed['place']}: {SEEN}"
        if typed.get("measured") is not None and not typed.get("unit") and "unit" not in self.errors:
            self.add_error("unit", f"{typed['measured']:f} of what? Write the unit.")
        if typed.get("limit_words") and not typed.get("limit_source") and "limit_source" not in self.errors:
            self.add_error("limit_source", "A limit has a source. Write where it stands, or leave the limit empty.")
        return typed

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
