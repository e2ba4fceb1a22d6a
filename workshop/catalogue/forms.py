"""What is typed of an operation of the catalogue, read or refused with a sentence."""

from typing import Any

from django import forms

from workshop.catalogue.actions import PartIn
from workshop.catalogue.models import Operation, Reuse
from workshop.pages.boxes import LOST, Amount, Minutes, PartRows, Words, shown_parts

PLAIN_WORDS_MOST = 25
TYPED = ("words", "plain_words", "if_left", "own_minutes", "fixed_amount", "fixed_reason", "critical", "tools", "consumables", "fits")


class OperationForm(PartRows):
    """An operation: words, minutes or a fixed price, parts, what to bring, what it fits."""

    seen = forms.IntegerField(
        widget=forms.HiddenInput, min_value=0, max_value=2**31 - 1, error_messages={"required": LOST, "invalid": LOST}
    )
    words = Words("What is done", 200, empty="Nothing written. Say what is done.")
    own_minutes = Minutes("Own minutes", hint="Once it is open.")
    critical = forms.BooleanField(label="Can hurt someone: brakes, steering, wheels, fuel, lifting", required=False)
    fixed_amount = Amount("Fixed price, net", hint="Instead of minutes and parts.")
    fixed_reason = Words("Why fixed", 200)
    tools = Words("Tools to bring", 180)
    consumables = Words("Consumables", 180)
    fits = Words("Fits", 120, hint="make, model, engine")
    plain_words = Words("For the customer", 500, rows=2, hint=f"In plain words, {PLAIN_WORDS_MOST} at most.")
    if_left = Words("If left", 200, hint="What can happen, and by when.")

    def __init__(self, *args: Any, rows: int = 3, **more: Any) -> None:
        super().__init__(*args, **more)
        self.give_rows(rows, Reuse.choices)

    def clean(self) -> dict[str, Any]:
        """An operation has a price, from minutes, parts or access or fixed."""
        typed = super().clean()
        if not self.errors and typed["fixed_amount"] is not None and (typed["own_minutes"] or self.typed_parts()):
            self.add_error("fixed_amount", "A fixed price beside minutes or parts counts twice. Leave one of them empty.")
        if (count := len(str(typed.get("plain_words", "")).split())) > PLAIN_WORDS_MOST:
            self.add_error("plain_words", f"{count} words. At most {PLAIN_WORDS_MOST}: leave out what does not decide.")
        return typed

    def operation(self) -> dict[str, Any]:
        """The keywords of change_operation. Call it on a good form only."""
        columns = {name: self.cleaned_data[name] for name in (*TYPED, "seen")}
        return {**columns, "parts": [PartIn(**part) for part in self.typed_parts()]}


def typed_operation(operation: Operation) -> dict[str, Any]:
    """An operation as its form shows it."""
    shown = {name: getattr(operation, name) for name in TYPED}
    shown |= {"own_minutes": operation.own_minutes or "", "seen": operation.changes}
    return shown | shown_parts(operation.parts.order_by("pk"))
