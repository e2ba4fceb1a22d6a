"""What pages of lower rooms show of invoices."""

from decimal import Decimal

from django import template

from workshop.invoices import actions, queries
from workshop.invoices.models import Document
from workshop.jobs.models import Card
from workshop.quotes.models import Version

register = template.Library()


@register.simple_tag
def uninvoiced(card: Card) -> Decimal | None:
    """What is agreed, done and on no invoice yet, with tax; None when there is nothing: `{% uninvoiced card as owed %}`."""
    return actions.uninvoiced(card)


@register.simple_tag
def invoices_of(version: Version) -> list[Document]:
    """The invoices that the holder of a quote's link may open, each with `state` and `token`. One query."""
    return queries.of_version(version)
