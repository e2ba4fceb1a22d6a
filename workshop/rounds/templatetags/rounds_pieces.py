"""What lower sheets show of walk-rounds."""

from typing import Any

from django import template

from workshop.inspections.models import Finding
from workshop.jobs.models import Card
from workshop.rounds import queries
from workshop.rounds.models import Round

register = template.Library()


@register.filter
def lettered(number: int) -> str:
    """The letter of a section: 1 is A, 26 is Z, 27 is AA."""
    above, letter = divmod(number - 1, 26)
    return (lettered(above) if above else "") + chr(ord("A") + letter)


@register.simple_tag
def round_of(card: Card) -> Round | None:
    """The newest walk-round with total, looked, unseen, begun_at and ended_at, or None. One query."""
    return queries.rounds_of(card).first()


@register.inclusion_tag("rounds/_grow.html", takes_context=True)
def grow_from(context: dict[str, Any], finding: Finding) -> dict[str, Any]:
    """The button that puts a finding on the walk-round list; its row once it is there. One query."""
    return {"finding": finding, "grown": queries.grown_from(finding), "csrf_token": context.get("csrf_token")}
