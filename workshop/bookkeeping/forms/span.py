"""The span of a batch, read or refused with a sentence."""

from collections.abc import Mapping
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


def asked_span(typed: Mapping[str, str]) -> SpanForm:
    """The span of an address (`?from_on=&to_on=`); without days, the whole of last month."""
    last = clock.today().replace(day=1) - timedelta(days=1)
    asked = {name: typed[name] for name in ("from_on", "to_on") if name in typed}
    return SpanForm(asked or {"from_on": last.replace(day=1), "to_on": last})


def usual_close(today: date, closed: date | None) -> date | None:
    """The day to close through next: the end of the first month after the close, the last that has passed when nothing is closed.
    None when every month that has passed is closed."""
    last = today.replace(day=1) - timedelta(days=1)
    if closed is None or closed >= last:
        return last if closed is None else None
    following = (closed + timedelta(days=1)).replace(day=28) + timedelta(days=4)
    return following.replace(day=1) - timedelta(days=1)
