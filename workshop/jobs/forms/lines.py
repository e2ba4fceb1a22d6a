"""What is typed of a line of work and of an access step."""

from typing import Any

from django import forms

from workshop.catalogue.models import Reuse
from workshop.jobs.actions import PartIn
from workshop.jobs.actions.lines import PLAIN_WORDS_MOST, seen_line
from workshop.jobs.models import Card, CardStep, Line
from workshop.pages.boxes import Amount, Made, Minutes, PartRows, Words, one_of, rows_in, shown_parts

__all__ = ["LineForm", "StepForm", "rows_in", "typed_line"]
PART_ROWS, MOST_PART_ROWS = 3, 30


class StepForm(Made):
    """An access step of a card."""

    words = Words("What is opened", 120, empty="Nothing written. Say what comes off or is drained.")
    open_minutes = Minutes("Open, min")
    close_minutes = Minutes("Close, min")
    material_words = Words("Uses up", 120, hint="gasket, coolant, bolts")
    material_amount = Amount("Its price, net")
    needs = forms.ModelMultipleChoiceField(
        CardStep.objects.none(),
        label="Must be open before",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": "That step is not on this card.", "invalid_pk_value": "That step is not on this card."},
    )

    def __init__(self, card: Card, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["needs"].queryset = card.steps.all()  # type: ignore[attr-defined]
        if not card.steps.exists():
            del self.fields["needs"]

    def clean(self) -> dict[str, Any]:
        """A step takes time or uses something up."""
        typed = self.cleaned_data
        if not self.errors and not (typed["open_minutes"] or typed["close_minutes"] or typed["material_amount"]):
            self.add_error("open_minutes", "No minutes and nothing used up. Write how long opening takes.")
        if typed.get("material_amount") and not typed.get("material_words"):
            self.add_error("material_words", "A price for what? Name what is used up.")
        return typed

    def step(self) -> dict[str, Any]:
        """The keywords of add_step. Call it on a good form only."""
        return {**self.cleaned_data, "material_amount": self.cleaned_data["material_amount"] or 0}


class LineForm(PartRows, Made):
    """A line of work: words with minutes and parts, or words with a fixed price."""

    kind = one_of("Kind", Line.Kind.choices, "Choose why this is done.", initial=Line.Kind.FAILED)
    words = Words("What is done", 200, empty="Nothing written. Say what is done.")
    plain_words = Words("For the customer", 500, rows=2, hint=f"In plain words, {PLAIN_WORDS_MOST} at most.")
    if_left = Words("If left", 200, hint="What can happen, and by when.")
    own_minutes = Minutes("Own minutes", hint="Once it is open. Opening and closing are access steps.")
    fixed_amount = Amount("Fixed price, net", hint="Instead of minutes and parts.")
    fixed_reason = Words("Why fixed", 200)
    critical = forms.BooleanField(label="Can hurt someone: brakes, steering, wheels, fuel, lifting", required=False)
    steps = StepForm.base_fields["needs"]
    seen = forms.CharField(widget=forms.HiddenInput, required=False)  # the line as the page showed it, of seen_line

    def __init__(self, card: Card, *args: Any, rows: int = PART_ROWS, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["steps"].label = "Must be open"
        self.fields["steps"].queryset = card.steps.all()  # type: ignore[attr-defined]
        if not card.steps.exists():
            del self.fields["steps"]
        self.give_rows(max(1, min(rows, MOST_PART_ROWS)), Reuse.choices)

    def clean(self) -> dict[str, Any]:
        """A line has a price, from minutes and parts or fixed; a part has a name and a price."""
        typed = super().clean()
        if not self.errors:
            self._refuse_no_price()
        if len(str(typed.get("plain_words", "")).split()) > PLAIN_WORDS_MOST:
            count = len(typed["plain_words"].split())
            self.add_error("plain_words", f"{count} words. At most {PLAIN_WORDS_MOST}: leave out what does not decide.")
        return typed

    def _refuse_no_price(self) -> None:
        typed, worked = self.cleaned_data, bool(self.cleaned_data["own_minutes"] or self.parts())
        if typed["fixed_amount"] is not None and worked:
            self.add_error("fixed_amount", "A fixed price beside minutes or parts counts twice. Leave one of them empty.")
        elif typed["fixed_amount"] is None and not worked:
            self.add_error("own_minutes", "No minutes, no part and no fixed price. Give one of them.")

    def parts(self) -> list[PartIn]:
        """The parts that were typed."""
        return [PartIn(**part) for part in self.typed_parts()]

    def line(self) -> dict[str, Any]:
        """The keywords of add_line. Call it on a good form only."""
        names = ("uid", "kind", "words", "plain_words", "if_left", "own_minutes", "fixed_amount", "fixed_reason", "critical")
        typed = self.cleaned_data
        return {**{name: typed[name] for name in names}, "parts": self.parts(), "steps": list(typed.get("steps") or ())}


def typed_line(line: Line) -> dict[str, Any]:
    """A line as its form shows it."""
    shown = {name: getattr(line, name) for name in ("kind", "words", "plain_words", "if_left", "fixed_amount", "fixed_reason", "critical")}
    shown |= {"uid": line.uid, "own_minutes": line.own_minutes or "", "steps": [need.step_id for need in line.steps.all()]}
    shown["seen"] = seen_line(line)
    return shown | shown_parts(line.parts.all())
