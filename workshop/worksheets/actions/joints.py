"""Joints, their values, and what the tool showed."""

import uuid as uuids
from decimal import Decimal
from typing import Any

from django.db import transaction
from django.db.models import Max

from workshop import clock
from workshop.history.actions import Actor
from workshop.jobs.actions import Refused, reason_of, refuse_left, write_hold, write_release
from workshop.jobs.models import Hold, Line
from workshop.pages.boxes import LOST
from workshop.specifications.actions import ValueIn, write_value
from workshop.specifications.models import Value
from workshop.worksheets import queries
from workshop.worksheets.actions.common import locked, own_line, tell
from workshop.worksheets.models import Joint, Tick

ROOM = "worksheets"
FAR_OFF = Decimal("0.1")  # house rule, no source: a tool that shows a tenth more or less than the source was misread or mis-set


@transaction.atomic
def add_joint(
    actor: Actor, line: Line, component: str, fasteners: int = 1, value: Value | ValueIn | None = None, *, uid: uuids.UUID | None = None
) -> Joint:
    """A joint of a line, with a value from its source or none. The same uid gives the joint that is there.

    Refused without a component, and when the uid stands on another line."""
    card = locked(line.card_id)
    if uid and (there := Joint.objects.filter(uid=uid).first()):
        if there.line_id != line.pk:
            raise Refused(LOST)
        return there
    line = Line.objects.select_for_update(of=("self",)).select_related("card").get(pk=line.pk)
    if not component.strip():
        raise Refused("Which joint? Write what is bolted to what.")
    own_line(card, line)
    joint = Joint.objects.create(
        uid=uid or uuids.uuid4(),
        line=line,
        position=(Joint.objects.filter(line__card=card).aggregate(last=Max("position"))["last"] or 0) + 1,
        component=component.strip(),
        fasteners=fasteners,
        value=_written(actor, value, component),
    )
    _hold_or_release(line, actor)
    _tell("worksheets.joint_added", actor, joint, value=_printed(joint.value))
    return joint


@transaction.atomic
def give_value(actor: Actor, joint: Joint, value: Value | ValueIn) -> Joint:
    """Puts a value with its source on a joint; an earlier one stays on file. Ticks against the earlier one no longer count."""
    fresh = _locked(joint)
    _refuse_struck(fresh)
    fresh.value = _written(actor, value, fresh.component)
    fresh.save(update_fields=["value"])
    _hold_or_release(fresh.line, actor)
    _tell("worksheets.value_given", actor, fresh, value=_printed(fresh.value))
    return fresh


@transaction.atomic
def tick_joint(actor: Actor, joint: Joint, shown: Decimal, unit: str, tool: str, *, uid: uuids.UUID | None = None) -> Tick:
    """What the tool showed, never copied from the source. The same uid gives the tick that is there.

    Refused without a value one may work to, in another unit than the source's, a tenth or more away from it, while the vehicle is
    left, and when the uid stands on another joint. It is judged by the value that stands there once the card is locked.
    """
    fresh = _locked(joint)
    if uid and (there := Tick.objects.filter(uid=uid).first()):
        if there.joint_id != fresh.pk:
            raise Refused(LOST)
        return there
    refuse_left(fresh.line.card)
    _refuse_tick(fresh, shown, unit, tool)
    tick = Tick.objects.create(
        uid=uid or uuids.uuid4(), joint=fresh, shown=shown, unit=unit, tool=tool.strip(), by=actor.name, at=clock.now()
    )
    _hold_or_release(fresh.line, actor)
    _tell("worksheets.ticked", actor, fresh, tool=tick.tool, shown=f"{shown.normalize():f} {unit}")
    return tick


@transaction.atomic
def strike_joint(actor: Actor, joint: Joint, reason: str) -> Joint:
    """A joint that does not belong on the sheet counts no longer; it stays to be seen with its reason. Struck again it is as it was."""
    why = reason_of(reason)
    fresh = _locked(joint)
    if fresh.struck_at:
        return fresh
    fresh.struck_reason, fresh.struck_by, fresh.struck_at = why, actor.name, clock.now()
    fresh.save(update_fields=["struck_reason", "struck_by", "struck_at"])
    _hold_or_release(fresh.line, actor)
    _tell("worksheets.joint_struck", actor, fresh, reason=why)
    return fresh


def _refuse_struck(joint: Joint) -> None:
    if joint.struck_at:
        raise Refused(f"Joint {joint.position} was taken off the sheet. Add it anew if it belongs there.")
    if joint.line.answer == Line.Answer.WITHDRAWN:
        raise Refused(f"Line {joint.line.number} is struck, and its joints with it.")


def _refuse_tick(joint: Joint, shown: Decimal, unit: str, tool: str) -> None:
    _refuse_struck(joint)
    value = queries.workable(joint)
    if value is None:
        raise Refused("No source on file that one may work to. Enter the maker's value first.")
    if not tool.strip():
        raise Refused("Which tool? Write its number or name.")
    if unit != value.unit:
        raise Refused(f"The source says {value.unit}. Set the tool to {value.unit} and write what it shows.")
    if abs(shown - value.number) >= value.number * FAR_OFF:
        raise Refused(f"The source says {value.number.normalize():f} {unit}, the tool showed {shown:f}. Tighten again, or read it again.")


def _locked(joint: Joint) -> Joint:
    """The joint with its line and value as they are now, its card locked. What was fetched before may have changed meanwhile."""
    locked(joint.line.card_id)
    return Joint.objects.select_for_update(of=("self",)).select_related("line__card", "value__source").get(pk=joint.pk)


def _written(actor: Actor, value: Value | ValueIn | None, component: str) -> Value | None:
    if not isinstance(value, ValueIn):
        return value
    named = ValueIn(**{**value.__dict__, "component": value.component or component})
    return write_value(actor.name, named)


def _hold_or_release(line: Line, actor: Actor) -> None:
    """A critical line is held from done until every joint that counts has a maker's value and a tick against it."""
    if not line.critical or line.answer == Line.Answer.WITHDRAWN:
        return
    missing = queries.missing(line)
    if missing:
        write_hold(line.card, line, Hold.Stops.DONE, missing, ROOM)
        return
    for hold in Hold.objects.filter(line=line, by_room=ROOM, released_at=None):
        write_release(hold, actor.name, "Every joint has a maker's value and a tick.")


def _printed(value: Value | None) -> str:
    return f"{value.number.normalize():f} {value.unit} from {value.source}" if value else "no source on file"


def _tell(kind: str, actor: Actor, joint: Joint, **more: Any) -> None:
    tell(kind, actor, joint.line.card, component=joint.component, number=joint.line.number, **more)
