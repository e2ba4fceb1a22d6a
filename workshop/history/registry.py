"""Every room's EVENTS in one place: the one exception to the ladder, read by name at run time."""

import re
from datetime import datetime
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from string import Formatter

from django.apps import apps
from django.utils import timezone

from workshop.pages.templatetags.pages_format import money


@cache
def sentences() -> dict[str, str]:
    """Event kind to sentence, over all rooms. Raises LookupError when two rooms tell the same kind."""
    found: dict[str, str] = {"history.blanked": "blanked what line {seq} said: {reason}"}
    for config in apps.get_app_configs():
        if not config.name.startswith("workshop.") or find_spec(f"{config.name}.actions") is None:
            continue
        told: dict[str, str] = getattr(import_module(f"{config.name}.actions"), "EVENTS", {})
        if doubled := found.keys() & told.keys():
            raise LookupError(f"Two rooms tell {sorted(doubled)}.")
        found.update(told)
    return found


def sentence_of(kind: str) -> str:
    """The sentence of an event kind, with {fields}. Raises LookupError for a kind that no room tells."""
    try:
        return sentences()[kind]
    except KeyError:
        raise LookupError(f"No room's EVENTS tells {kind}.") from None


class Gaps(dict[str, object]):
    """What a blanked or older payload no longer holds reads as a dash."""

    def __missing__(self, key: str) -> str:
        return "–"


MONEY = re.compile(r"(?:.*_)?(?:amount|net|tax|gross|debit|credit)|total|after")
AMOUNT = re.compile(r"-?\d+\.\d\d")
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d(?:\.\d+)?)?(?:Z|[+-]\d\d:\d\d)")


def readable(key: str, value: object) -> object:
    """A moment as 2 Dec 2026, 18:00 where the business is, an amount as 1,403.98; everything else as it was written down."""
    text = str(value)
    if MOMENT.fullmatch(text):
        local = timezone.localtime(datetime.fromisoformat(text))
        return f"{local.day} {local:%b %Y, %H:%M}"
    if MONEY.fullmatch(key) and AMOUNT.fullmatch(text):
        return money(text)
    return value


def tell(kind: str, payload: dict[str, object]) -> str:
    """The sentence with the payload's values in it."""
    return Formatter().vformat(sentence_of(kind), (), Gaps({key: readable(key, value) for key, value in payload.items()}))
