"""Every room's EVENTS in one place: the one exception to the ladder, read by name at run time."""

from functools import cache
from importlib import import_module
from importlib.util import find_spec
from string import Formatter

from django.apps import apps


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


def tell(kind: str, payload: dict[str, object]) -> str:
    """The sentence with the payload's values in it."""
    return Formatter().vformat(sentence_of(kind), (), Gaps(payload))
