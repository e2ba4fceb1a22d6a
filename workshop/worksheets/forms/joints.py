"""What is typed on a tightening sheet, read or refused with a sentence."""

import re
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from workshop.jobs.models import Card, Line
from workshop.pages.boxes import Plain, Words, one_of, uid_field
from workshop.specifications.actions import ValueIn
from workshop.specifications.models import Source

UNITS = ["N·m", "lbf·ft", "lbf·in", "kgf·m"]
MOST = Decimal("10000")
MOST_RUN = Decimal("99999999")  # km or hours, eight figures as the meters have
THOUSANDS = re.compile(r"\d{1,3}(,\d{3})+", re.ASCII)
STAGE = re.compile(r"(?P<number>\d{1,5}(?:[.,]\d{1,3})?)\s*(?P<angle>°|deg)?", re.ASCII)


class Figure(Plain):
    """A number above zero, 45 or 10,5, with at most so many places; empty is None unless a sentence says it may not be."""

    def __init__(self, label: str, places: int, *, empty: str = "", hint: str = "", most: Decimal = MOST) -> None:
        super().__init__(label=label, required=bool(empty), help_text=hint, error_messages={"required": empty})
        self.places, self.most = places, most
        self.widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The number as Decimal."""
        typed = str(super().clean(value))
        if not typed:
            return None
        if self.most > MOST and THOUSANDS.fullmatch(typed):
            typed = typed.replace(",", "")
        try:
            number = Decimal(typed.replace(",", "."))
        except InvalidOperation:
            raise forms.ValidationError(f"“{typed[:20]}” is not a number. Write figures like 45 or 10.5.") from None
        if not number.is_finite() or not 0 < number <= self.most or number != number.quantize(Decimal(1).scaleb(-self.places)):
            raise forms.ValidationError(f"“{typed[:20]}” does not fit: above 0, at most {self.most:,}, {self.places} places.")
        return number


class ValueForm(forms.Form):
    """A value as its source prints it, and the source."""

    number = Figure("Torque", 3, empty="No number. Write it as the source prints it.")
    unit = one_of("Unit as printed", [(unit, unit) for unit in UNITS], "Choose the unit the source prints.")
    stages = Words("Stages", 120, hint="In order, if there are any: 15, 25, 90°")
    lubrication = Words("Thread", 60, hint="dry, oiled, thread lock")
    kind = one_of("Source", [(kind.value, f"{kind.value} {kind.label}") for kind in Source.Kind], "Choose what kind of source it is.")
    title = Words("Title", 160, empty="No title. Write the name of the book, sheet or standard.")
    edition = Words("Edition", 40)
    page = Words("Page", 20)

    def clean_stages(self) -> list[dict[str, str]]:
        """The stages in order; a figure with ° is an angle."""
        found = []
        for typed in filter(None, re.split(r"\s*[;+/]\s*|,\s+|\s+then\s+", str(self.cleaned_data["stages"]).strip())):
            stage = STAGE.fullmatch(typed.strip())
            if not stage:
                raise forms.ValidationError(f"“{typed[:20]}” is no stage. Write figures with a comma and a space between: 15, 25, 90°.")
            number = stage["number"].replace(",", ".")
            found.append({"angle": number} if stage["angle"] else {"seat": number})
        return found

    def value(self) -> ValueIn:
        """What was read in the source. Call it on a good form only."""
        typed = self.cleaned_data
        source = {name: typed[name] for name in ("kind", "title", "edition", "page")}
        stages = [stage if "angle" in stage else {**stage, "unit": typed["unit"]} for stage in typed["stages"]]
        return ValueIn(source, typed["number"], typed["unit"], stages=stages, lubrication=typed["lubrication"])


class JointForm(ValueForm):
    """A joint of a line, with its value and source or with none yet."""

    uid = uid_field()
    line = forms.ModelChoiceField(
        Line.objects.none(),
        label="Of line",
        widget=forms.RadioSelect,
        empty_label=None,
        error_messages={
            "required": "Choose the line it belongs to.",
            "invalid_choice": "That line is not on this card.",
            "invalid_pk_value": "That line is not on this card.",
        },
    )
    component = Words("Joint", 120, empty="Nothing written. Write what is bolted to what.")
    fasteners = Figure("How many bolts", 0, empty="No number. Count the bolts.")
    field_order = ["uid", "line", "component", "fasteners"]

    def __init__(self, card: Card, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["line"].queryset = card.lines.exclude(answer=Line.Answer.WITHDRAWN)  # type: ignore[attr-defined]
        for name in ("number", "unit", "kind", "title"):
            self.fields[name].required = self._sourced()

    def _sourced(self) -> bool:
        """Whether anything of a value was typed; then all of it is asked for."""
        return any(str(self.data.get(name, "")).strip() for name in ("number", "stages", "kind", "title", "edition", "page"))

    def clean_fasteners(self) -> int:
        """The number of bolts."""
        if self.cleaned_data["fasteners"] > 200:
            raise forms.ValidationError(f"{self.cleaned_data['fasteners']} bolts on one joint. At most 200: count again.")
        return int(self.cleaned_data["fasteners"])

    def value_or_none(self) -> ValueIn | None:
        """The value, None when none was typed."""
        return self.value() if self._sourced() else None


class TickForm(forms.Form):
    """What the tool showed."""

    uid = uid_field()
    shown = Figure("Tool showed", 2, empty="No number. Write what the tool showed.")
    unit = forms.CharField(widget=forms.HiddenInput, max_length=12, label="Unit")
    tool = Words("Tool number", 60, empty="No tool. Write its number or name.")


class StrikeForm(forms.Form):
    """Why a joint does not belong on the sheet."""

    reason = Words("Why", 200, empty="No reason. Say why, in one sentence: it stays on the sheet.")
