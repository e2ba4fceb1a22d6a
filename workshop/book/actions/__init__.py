"""The verbs of this room: the `index` of the search box, which is no record, and `handing` the vehicle over."""

from workshop.book.actions.handing import hand_over
from workshop.book.actions.index import AT_ONCE, catch_up, rebuild

EVENTS = {"book.handed_over": "handed the vehicle over to {given_to}{keys}. {words}"}

__all__ = ["AT_ONCE", "EVENTS", "catch_up", "hand_over", "rebuild"]
