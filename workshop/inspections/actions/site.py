"""Look at the place before work."""

import uuid as uuids

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.inspections.actions.common import ROOM, locked, on
from workshop.inspections.models import SiteCheck
from workshop.jobs.actions import Refused, write_hold, write_release
from workshop.jobs.models import Card, Hold


@transaction.atomic
def check_site(
    actor: Actor,
    card: Card,
    *,
    ground: str,
    verdict: str,
    chocked: bool = False,
    stands: bool = False,
    traffic: str = "",
    people: str = "",
    why: str = "",
    uid: uuids.UUID | None = None,
) -> SiteCheck:
    """May we work here? A refused place holds every start until a later check says otherwise. Refused without a reason for "refused"."""
    locked(card)
    if uid and (there := SiteCheck.objects.filter(uid=uid).first()):
        return on(there, card)
    if verdict == SiteCheck.Verdict.REFUSED and not why.strip():
        raise Refused("Say why not here, in one sentence. It is shown to whoever wants to start.")
    check = SiteCheck.objects.create(
        uid=uid or uuids.uuid4(),
        card=card,
        ground=ground.strip(),
        chocked=chocked,
        stands=stands,
        traffic=traffic.strip(),
        people=people.strip(),
        verdict=SiteCheck.Verdict(verdict),
        why=why.strip(),
        by=actor.name,
        at=clock.now(),
    )
    _hold_or_release(card, check, actor)
    told = {"verdict": check.get_verdict_display(), "why": f". {check.why}" if check.why else ""}
    record("inspections.site_checked", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=told)
    return check


def _hold_or_release(card: Card, check: SiteCheck, actor: Actor) -> None:
    if check.verdict == SiteCheck.Verdict.REFUSED:
        write_hold(card, None, Hold.Stops.START, f"Do not work here: {check.why}"[:200], ROOM)
        return
    for hold in card.holds.filter(by_room=ROOM, stops=Hold.Stops.START, released_at=None):
        write_release(hold, actor.name, "A later look at the place says: work here.")
