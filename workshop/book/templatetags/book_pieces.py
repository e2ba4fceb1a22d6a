"""What lower sheets show of the vehicle book."""

from typing import Any

from django import template

from workshop.book.queries import visits
from workshop.jobs.models import Card

register = template.Library()


@register.inclusion_tag("book/_asked_before.html", takes_context=True)
def asked_before(context: template.Context, card: Card, works: bool = False, running: bool = False) -> dict[str, Any]:
    """Lines that were "not now" on earlier cards of the vehicle, with the photo of then, and a button to offer them again for whoever
    works on a card that runs. One query."""
    before = visits.declined_before(card.vehicle, card)
    return {"before": before, "card": card, "again": works and running, "csrf_token": context.get("csrf_token")}
