"""Who can clear what holds a card, in words."""

from collections.abc import Iterable
from dataclasses import dataclass

from workshop.jobs.models import Hold

ANYBODY = "the owner"
RELEASED_BY = {  # the room that set it, as it names itself on the hold
    "worksheets": "whoever ticks its joints by the maker's value",
    "worksheets.taught": "whoever teaches it in; or the owner, with a reason",
    "inspections": "whoever looks at the place again",
    "quotes": "the office",
    "invoices": "the office",
}


@dataclass(frozen=True)
class Held:
    """A hold and who can clear it."""

    hold: Hold
    who: str


def released_by(hold: Hold) -> str:
    """Who can clear the hold; the owner where no room says otherwise."""
    return RELEASED_BY.get(hold.by_room, ANYBODY)


def held(holds: Iterable[Hold]) -> list[Held]:
    """Each open hold with who can clear it. No query beyond the holds themselves."""
    return [Held(hold, released_by(hold)) for hold in holds if hold.released_at is None]
