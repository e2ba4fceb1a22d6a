"""What lower sheets show of findings and site checks."""

from decimal import Decimal
from typing import Any

from django import template

from workshop.calc import faultcodes
from workshop.inspections import queries
from workshop.inspections.models import FaultCode, Finding, Intake, SiteCheck
from workshop.jobs.models import Card
from workshop.pages.templatetags.pages_format import quantity

register = template.Library()


@register.simple_tag
def findings_of(card: Card) -> list[Finding]:
    """The card's findings. One query."""
    return list(queries.of_card(card))


@register.inclusion_tag("inspections/_cautions.html")
def cautions_met(*texts: str) -> dict[str, Any]:
    """One box with the usual cautions of the systems that these words name; nothing when they name none. No query."""
    rows = queries.cautions_met(*texts)
    return {"rows": rows, "word": queries.highest_word(rows)}


@register.simple_tag
def site_of(card: Card) -> SiteCheck | None:
    """The newest look at the place. One query."""
    return queries.last_site_check(card)


@register.simple_tag
def check_ins() -> list[SiteCheck]:
    """Who works alone and has not checked in yet, the earliest first, for the desk. One query."""
    return queries.check_ins()


@register.simple_tag
def intake_of(card: Card) -> Intake | None:
    """The newest intake. One query."""
    return queries.last_intake(card)


@register.filter
def form_of(code: FaultCode) -> str:
    """What the form of a fault code says by itself."""
    return faultcodes.told(code.code, code.form)


@register.filter
def measured(value: Decimal, unit: str = "") -> str:
    """A measured value as it was written, 5.2 mm: the column keeps three places, the zeros behind were not read off anything."""
    short = value.normalize()
    return quantity(short.quantize(Decimal(1)) if short == short.to_integral_value() else short, unit)
