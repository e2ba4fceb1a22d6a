"""How figures one works to are written."""

from decimal import Decimal

from django import template

from workshop.pages.templatetags.pages_format import grouped

register = template.Library()


@register.filter
def figure(number: Decimal) -> str:
    """45.000 as 45, 10.500 as 10.5: the column keeps three places, the source printed fewer."""
    short = number.normalize()
    return grouped(short.quantize(Decimal(1)) if short == short.to_integral_value() else short)
