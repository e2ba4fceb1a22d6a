"""Read joints and ticks."""

from django.db.models import QuerySet

from workshop.jobs.models import Card, Line
from workshop.specifications.models import Value
from workshop.specifications.queries import MAKERS
from workshop.worksheets.models import Joint, Tick


def joints_of(card: Card) -> QuerySet[Joint]:
    """The joints of all the card's lines in order, with values, sources and ticks."""
    return _joints().filter(line__card=card)


def joint(pk: int) -> Joint | None:
    """The joint with its line and card, or None."""
    return _joints().select_related("line__card__vehicle").filter(pk=pk).first()


def _joints() -> QuerySet[Joint]:
    return Joint.objects.select_related("line", "value__source").prefetch_related("ticks")


def workable(joint: Joint) -> Value | None:
    """The value one may work to, or None: a critical line takes only a maker's (K1, K2). Hearsay on it is never shown as a value."""
    if joint.value is None or (joint.line.critical and joint.value.source.kind not in MAKERS):
        return None
    return joint.value


def good_tick(joint: Joint) -> Tick | None:
    """The last tick against the value that stands there now, or None."""
    value = workable(joint)
    if value is None:
        return None
    since = value.source.entered_at
    return next((tick for tick in reversed(joint.ticks.all()) if tick.unit == value.unit and tick.at >= since), None)


def missing(line: Line) -> str:
    """What a critical line lacks, as a sentence; empty when nothing."""
    joints = list(_joints().filter(line=line, struck_at=None))
    if not joints:
        return "Critical: no joint is on its tightening sheet yet."
    for joint in joints:
        if workable(joint) is None:
            return f"Critical: {joint.component} has no maker's value on file."
        if good_tick(joint) is None:
            return f"Critical: {joint.component} is not ticked."
    return ""
