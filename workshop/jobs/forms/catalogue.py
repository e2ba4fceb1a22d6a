"""What is typed when a line or a set of lines is kept for next time."""

from typing import Any

from django import forms

from workshop.jobs.models import Card, Line
from workshop.pages.boxes import Made, Words


class KeepForm(Made):
    """A line kept as an operation: what to bring, and what it fits."""

    tools = Words("Tools to bring", 180, hint="seal driver, engine support")
    consumables = Words("Consumables", 180, hint="brake cleaner, sealant")
    fits = Words("Fits", 120, hint="make, model, engine")

    def kept(self) -> dict[str, Any]:
        """The keywords of save_operation. Call it on a good form only."""
        return dict(self.cleaned_data)


NOT_HERE = {"invalid_choice": "That line is not on this card.", "invalid_pk_value": "That line is not on this card."}


class KitForm(Made):
    """Lines of a card kept as a kit."""

    words = Words("Name of the kit", 120, empty="No name. Say what the kit is for.")
    lines = forms.ModelMultipleChoiceField(
        Line.objects.none(),
        label="Lines that go together",
        widget=forms.CheckboxSelectMultiple,
        error_messages={**NOT_HERE, "required": "No line is ticked. Tick the lines that go together."},
    )

    def __init__(self, card: Card, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        lines = card.lines.exclude(kind=Line.Kind.FIRST_PRICE).exclude(answer=Line.Answer.WITHDRAWN)
        self.fields["lines"].queryset = lines.select_related("from_operation")  # type: ignore[attr-defined]
