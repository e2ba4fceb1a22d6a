"""Enter values with their sources."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.specifications.models import Source, Value

EVENTS = {
    "specifications.entered": "entered {value} for {component} from {source}",
    "specifications.checked": "checked {value} for {component} against {source}",
}


class Refused(ValueError):
    """A sentence for the person: what is wrong, what to do."""


@dataclass(frozen=True)
class ValueIn:
    """A value as somebody read it in a source. `source`: kind, title, edition, page.

    `stages` in order: {"seat": "45", "unit": "N·m"} or {"angle": "90"}.
    """

    source: dict[str, str]
    number: Decimal
    unit: str
    component: str = ""
    stages: Sequence[dict[str, str]] = field(default_factory=tuple)
    quantity: str = "torque"
    lubrication: str = ""
    applies_to: str = ""
    safety: str = "critical"


@transaction.atomic
def write_value(by: str, value: ValueIn) -> Value:
    """Writes a value with its source. Records nothing: a higher verb does. Refused without a source title."""
    if not value.source.get("title", "").strip():
        raise Refused("A value has a source. Write the title of the book, sheet or standard it stands in.")
    if value.number <= 0:
        raise Refused(f"{value.number} {value.unit} is not above zero. Read the source again.")
    return Value.objects.create(
        source=_source(by, value.source),
        quantity=value.quantity,
        component=value.component.strip(),
        number=value.number,
        unit=value.unit.strip(),
        stages=list(value.stages),
        lubrication=value.lubrication.strip(),
        applies_to=value.applies_to.strip(),
        safety=Value.Safety(value.safety),
    )


@transaction.atomic
def add_value(
    actor: Actor,
    *,
    source: dict[str, str],
    component: str,
    number: Decimal,
    unit: str,
    stages: Sequence[dict[str, str]] = (),
    quantity: str = "torque",
    lubrication: str = "",
    applies_to: str = "",
    safety: str = "critical",
) -> Value:
    """A value with its source (kind K1 to K6, title, edition, page). Errors as write_value."""
    value = write_value(actor.name, ValueIn(source, number, unit, component, stages, quantity, lubrication, applies_to, safety))
    record("specifications.entered", actor, payload=_told(value))
    return value


@transaction.atomic
def check_value(actor: Actor, value: Value) -> Value:
    """A second person has read the number in its source. Refused for the one who entered it and when it was checked before."""
    source = Source.objects.select_for_update().get(pk=value.source_id)
    if source.entered_by == actor.name:
        raise Refused("You entered this value. Somebody else reads it in the source and checks it.")
    if source.checked_at:
        raise Refused(f"{source.checked_by} checked this source before.")
    source.checked_by, source.checked_at = actor.name, clock.now()
    source.save(update_fields=["checked_by", "checked_at"])
    value.source = source
    record("specifications.checked", actor, payload=_told(value))
    return value


def _source(by: str, typed: dict[str, str]) -> Source:
    """Each value has a source row of its own: checking one number says nothing about another on the same page."""
    checked_by = typed.get("checked_by", "").strip()
    return Source.objects.create(
        kind=Source.Kind(typed["kind"]),
        title=typed["title"].strip(),
        edition=typed.get("edition", "").strip(),
        page=typed.get("page", "").strip(),
        entered_by=by,
        entered_at=clock.now(),
        checked_by=checked_by,
        checked_at=clock.now() if checked_by else None,
    )


def _told(value: Value) -> dict[str, object]:
    return {"value": f"{value.number.normalize():f} {value.unit}", "component": value.component, "source": str(value.source)}
