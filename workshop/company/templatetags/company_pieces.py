"""Pieces of the business that pages of others load."""

from django import template

from workshop.company import queries

register = template.Library()


@register.simple_tag
def is_set_up() -> bool:
    """Whether there is a business, or somebody who can sign in."""
    return queries.is_set_up()
