"""The span of a batch, read or refused with a sentence."""

from datetime import date, timedelta
from typing import Any

from django import forms

from workshop import clock

NO_DAY = "Write the day as 2026-12-31, or choose it."


def day_field(label: str) -> forms.DateField:
    """A day of the span."""
    return forms.DateField(
        label=label,
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        input_formats=["%Y-%m-%d"],
        error_messages={"required": NO_DAY, "invalid": NO_DAY},
    )


class SpanForm(forms.Form):
    """First and last day, both counted in."""

    use_required_attribute = False  # the browser would refuse in its own words
    from_on = day_field("First day")
    to_on = day_field("Last day")

    def clean(self) -> dict[str, Any]:
        """The two days in order."""
        typed = super().clean() or {}
        if typed.get("from_on") and typed.get("to_on") and typed["from_on"] > typed["to_on"]:
            self.add_error("to_on", f"{typed['to_on']} comes before the first day, {typed['from_on']}. Turn them round.")
        return typed


def usual_span(oldest: date | None) -> dict[str, date]:
    """From the oldest entry that waits to today: nothing that waits is hidden. When nothing waits,
    from the first of last month."""
    today = clock.today()
    return {"from_on": oldest or (today.replace(day=1) - timedelta(days=1)).replace(day=1), "to_on": today}
