"""What lower sheets show of the vehicle book, and words of the hand-over sheet."""

from decimal import Decimal
from typing import Any

from django import template
from django.utils.translation import gettext_lazy, pgettext_lazy

from workshop.book.queries import holding
from workshop.book.queries.carried import carried
from workshop.jobs.models import Card, Hold
from workshop.pages.templatetags.pages_format import quantity

register = template.Library()
OUTCOMES = {
    "cured": gettext_lazy("cured"),
    "better": gettext_lazy("better"),
    "not_found": gettext_lazy("not found"),
    "not_done": gettext_lazy("not done"),
    "": gettext_lazy("still open"),
}
OLD_PARTS = {
    "shown": gettext_lazy("shown and taken away"),
    "kept": gettext_lazy("kept for you"),
    "returned": gettext_lazy("given to you"),
    "scrapped": gettext_lazy("scrapped"),
    "core": gettext_lazy("sent back for their deposit"),
}
CONDITIONS = {
    "watch": pgettext_lazy("condition", "watch"),
    "act": pgettext_lazy("condition", "act"),
    "stop": pgettext_lazy("condition", "stop"),
}


@register.inclusion_tag("book/_asked_before.html", takes_context=True)
def asked_before(context: template.Context, card: Card, works: bool = False, running: bool = False) -> dict[str, Any]:
    """What other cards of the vehicle left for this one: lines "not now" with the photo of then and a button to offer them again for
    whoever works on a card that runs; what is to be looked at again; deviations. One query."""
    found = carried(card)
    more = {"follow_ups": found.follow_ups, "deviations": found.deviations, "csrf_token": context.get("csrf_token")}
    return {"before": found.before, "card": card, "again": works and running, **more}


@register.filter
def released_by(hold: Hold) -> str:
    """Who can clear a hold, in words: `{{ hold|released_by }}`. No query."""
    return holding.released_by(hold)


@register.filter
def outcome(which: str) -> Any:
    """What came of a complaint, for the customer."""
    return OUTCOMES.get(which, which)


@register.filter
def old_parts(which: str) -> Any:
    """What became of the old parts, for the customer."""
    return OLD_PARTS.get(which, which)


@register.filter
def condition(which: str) -> Any:
    """The word of a condition, for the customer."""
    return CONDITIONS.get(which, which)


@register.filter
def run_of(value: Decimal | None, unit: str) -> str:
    """92400.0 as 92,400 km; nothing as a dash."""
    if value is None:
        return "–"
    return quantity(value.quantize(Decimal(1)) if value == value.to_integral_value() else value, unit)
