"""How times of work and numbers to call are written."""

import re

from django import template

from workshop import clock
from workshop.jobs.actions.spells import FORGOTTEN
from workshop.jobs.models import Spell
from workshop.pages.templatetags.pages_format import NO_BREAK

register = template.Library()


@register.filter
def spent(minutes: int) -> str:
    """45 as 45 min, 130 as 2 h 10 min."""
    hours, rest = divmod(minutes, 60)
    return f"{hours}{NO_BREAK}h {rest:02}{NO_BREAK}min" if hours else f"{rest}{NO_BREAK}min"


@register.filter
def lasted(spell: Spell) -> str:
    """How long a spell is: to its stop, or to now."""
    return spent(spell.minutes(clock.now()))


@register.filter
def forgotten(spell: Spell) -> bool:
    """Whether a clock ran so long that nobody stopped it."""
    return (spell.stopped_at or clock.now()) - spell.started_at > FORGOTTEN


@register.filter
def dial(phone: str) -> str:
    """A number as a telephone takes it, figures and a plus; empty when there is no figure in it."""
    number = re.sub(r"[^0-9+]", "", phone)
    return number if re.search(r"[0-9]", number) else ""
