"""Boxes that the sheets of this room share."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from workshop.pages.boxes import Plain

MOST_MEASURED = Decimal("999999.999")


class Measured(Plain):
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
