"""Fault codes: read and kept before anything is cleared or the battery comes off."""

import uuid as uuids
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor
from workshop.inspections.actions.common import on
from workshop.inspections.models import CodeRead, CodesCleared, FaultCode
from workshop.jobs.actions import Refused
from workshop.jobs.actions.common import locked_open, tell
from workshop.jobs.models import Card


@dataclass(frozen=True)
class CodeIn:
    """One code as it was typed; `form` as calc.faultcodes.written tells it."""

    code: str
    form: str = ""
    module: str = ""
    words: str = ""
    status: str = FaultCode.Status.STORED


@transaction.atomic
def read_codes(
    actor: Actor, card: Card, codes: Sequence[CodeIn], *, moment: str, tool: str = "", freeze: str = "", uid: uuids.UUID | None = None
) -> CodeRead:
    """One reading of all fault codes; no code says: none stored. The same uid gives the read that is there.

    Refused for a card that is over."""
    now = locked_open(card)
    if uid and (there := CodeRead.objects.filter(uid=uid).first()):
        return on(there, now)
    read = CodeRead.objects.create(
        uid=uid or uuids.uuid4(),
        card=now,
        moment=CodeRead.Moment(moment),
        tool=tool.strip(),
        freeze=freeze.strip(),
        by=actor.name,
        at=clock.now(),
    )
    FaultCode.objects.bulk_create(FaultCode(read=read, **asdict(one)) for one in codes)
    told = ", ".join(one.code for one in codes) or "none stored"
    tell("inspections.codes_read", actor, now, moment=read.get_moment_display(), told=told)
    return read


@transaction.atomic
def clear_codes(actor: Actor, card: Card, how: str, *, uid: uuids.UUID | None = None) -> CodesCleared:
    """Says that the codes are gone from the vehicle, who said so and when. The same uid gives what is there.

    Refused while no read is on file for the card, and for a card that is over."""
    now = locked_open(card)
    if uid and (there := CodesCleared.objects.filter(uid=uid).first()):
        return on(there, now)
    if not CodeRead.objects.filter(card=now).exists():
        raise Refused("No read is on file for this card. Read the codes and save them first, even when none is stored.")
    gone = CodesCleared.objects.create(uid=uid or uuids.uuid4(), card=now, how=CodesCleared.How(how), by=actor.name, at=clock.now())
    tell("inspections.codes_cleared", actor, now, how=gone.get_how_display())
    return gone
