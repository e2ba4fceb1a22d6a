"""How numbers, days and marks are written. A number keeps its places; a space before a unit never breaks."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django import template
from django.forms import BoundField
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import SafeString
from django.utils.translation import gettext, gettext_lazy, pgettext_lazy

from workshop import clock as own_clock

register = template.Library()

NO_BREAK = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
COIN = Decimal("0.01")
WORDS = {
    "good": pgettext_lazy("condition", "good"),
    "watch": pgettext_lazy("condition", "watch"),
    "act": pgettext_lazy("condition", "act"),
    "stop": pgettext_lazy("condition", "stop"),
    "unseen": gettext_lazy("not looked at"),
    "na": gettext_lazy("not applicable"),
    "here": gettext_lazy("on this phone"),
    "sending": gettext_lazy("sending"),
    "safe": gettext_lazy("safe on the server"),
}


def exact(value: Any) -> Decimal:
    """The value as a Decimal. TypeError for a float: its last places are not what anyone wrote."""
    if isinstance(value, float):
        raise TypeError(f"{value} is a float; money and measures are Decimal.")
    return value if isinstance(value, Decimal) else Decimal(value)


def grouped(number: Decimal) -> str:
    """1234567.50 as 1,234,567.50 with a real minus sign; every place is kept."""
    return f"{number:,f}".replace("-", MINUS)


@register.filter
def money(value: Any) -> str:
    """1028.09 as 1,028.09; nothing as nothing. ValueError for a third place: round it where it was reckoned."""
    if value is None or value == "":
        return ""
    amount = exact(value)
    if amount != amount.quantize(COIN):
        raise ValueError(f"{amount} has more than two places.")
    return grouped(amount.quantize(COIN))


@register.filter
def difference(value: Any) -> str:
    """What a choice does to the total: `289.62 less`, `368.56 more`, `the same`."""
    amount = exact(value)
    if amount == 0:
        return gettext("the same")
    words = gettext("%(amount)s less") if amount < 0 else gettext("%(amount)s more")
    return words % {"amount": money(abs(amount))}


@register.filter
def quantity(value: Any, unit: str = "") -> str:
    """A number with its unit, 15 N·m or 4.80 mm, as many places as were measured."""
    if value is None or value == "":
        return ""
    number = grouped(exact(value))
    return f"{number}{NO_BREAK}{unit}" if unit else number


@register.filter
def km(value: Any) -> str:
    """92400 as 92,400 km."""
    return quantity(value, "km")


@register.filter
def percent(value: Any) -> str:
    """22.00 as 22 %."""
    if value is None or value == "":
        return ""
    number = exact(value)
    short = number.quantize(Decimal(1)) if number == number.to_integral_value() else number.normalize()
    return quantity(short, "%")


def here(value: dt.date | dt.datetime) -> dt.date | dt.datetime:
    """A moment in the business's own time zone; a date as it is."""
    return timezone.localtime(value) if isinstance(value, dt.datetime) else value


@register.filter
def day(value: dt.date | dt.datetime | None) -> str:
    """Fri 4 Dec on the screen; the year only when it is another one."""
    if not value:
        return ""
    local = here(value)
    return date_format(local, "D j M" if local.year == own_clock.today().year else "D j M Y")


@register.filter
def clock(value: dt.datetime | dt.time | None) -> str:
    """10:12."""
    if not value:
        return ""
    local = here(value) if isinstance(value, dt.datetime) else value
    return local.strftime("%H:%M")


@register.filter
def moment(value: dt.datetime | None) -> str:
    """Fri 4 Dec, 10:12."""
    return f"{day(value)}, {clock(value)}" if value else ""


@register.filter
def paper_day(value: dt.date | dt.datetime | None) -> str:
    """2026-12-04, the only form on paper."""
    return here(value).strftime("%Y-%m-%d") if value else ""


@register.inclusion_tag("pages/_mark.html", takes_context=True)
def mark(context: template.Context, which: str, size: str = "", word: str = "") -> dict[str, Any]:
    """A shape and its word: `{% mark finding.condition %}`, `{% mark "stop" "lg" "Do not drive." %}`."""
    return {"mark": which, "size": size, "word": word or WORDS[which], "inside": context.get("inside")}


@register.inclusion_tag("pages/_sent.html", takes_context=True)
def sent(context: template.Context, which: str, word: str = "") -> dict[str, Any]:
    """Where a record is: here, sending or safe."""
    return {"mark": which, "word": word or WORDS[which], "inside": context.get("inside")}


@register.filter
def plain(field: BoundField) -> SafeString:
    """The control without a pale example inside: that is soon taken for something typed. The label stands above anyway."""
    return field.as_widget(attrs={"placeholder": False})
