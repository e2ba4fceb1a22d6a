"""Look at the place before work."""

import uuid as uuids
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from workshop import clock
from workshop.history.actions import Actor
from workshop.inspections.actions.common import ROOM, locked, on, refuse_cancelled
from workshop.inspections.models import SiteCheck
from workshop.jobs.actions import Refused, write_hold, write_release
from workshop.jobs.actions.common import tell
from workshop.jobs.models import Card, Hold

LONGEST_MINUTES = 24 * 60


@dataclass(frozen=True)
class Lone:
    """Somebody works alone: by when to check in, and whom to call when that does not happen."""

    check_in_at: datetime
    call_name: str
    call_phone: str


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
    lone: Lone | None = None,
    uid: uuids.UUID | None = None,
) -> SiteCheck:
    """May we work here? A refused place holds every start until a later check says otherwise. Ends the check-in of an earlier look.

    Refused without a reason for "refused", for a check-in that is gone, a day away or has nobody to call, and for a cancelled card."""
    now = locked(card)
    if uid and (there := SiteCheck.objects.filter(uid=uid).first()):
        return on(there, card)
    refuse_cancelled(now)
    if verdict == SiteCheck.Verdict.REFUSED and not why.strip():
        raise Refused("Say why not here, in one sentence. It is shown to whoever wants to start.")
    _refuse_lone(lone)
    card.site_checks.filter(check_in_at__isnull=False).update(check_in_at=None)
    works_alone = asdict(lone) if lone and verdict == SiteCheck.Verdict.WORK else {}
    seen = {"ground": ground.strip(), "traffic": traffic.strip(), "people": people.strip(), "why": why.strip()}
    done = {"chocked": chocked, "stands": stands, "alone": lone is not None}
    who = {"uid": uid or uuids.uuid4(), "by": actor.name, "at": clock.now()}
    check = SiteCheck.objects.create(card=card, verdict=SiteCheck.Verdict(verdict), **who, **seen, **done, **works_alone)
    _hold_or_release(card, check, actor)
    why_not, alone = f". {check.why}" if check.why else "", f"; works alone, {_due(check)}" if check.check_in_at else ""
    tell("inspections.site_checked", actor, card, verdict=check.get_verdict_display(), why=why_not + alone)
    return check


def _refuse_lone(lone: Lone | None) -> None:
    if lone is None:
        return
    if not lone.call_name.strip() or not lone.call_phone.strip():
        raise Refused("Whoever works alone has somebody to call. Write the name and the number.")
    if not clock.now() < lone.check_in_at <= clock.now() + timedelta(minutes=LONGEST_MINUTES):
        raise Refused("That time to check in is gone, or more than a day away. Choose another.")


def _due(check: SiteCheck) -> str:
    """For history; the moment reads as one."""
    at = timezone.localtime(check.check_in_at)
    return f"checks in by {at:%H:%M}, else {check.call_name} is called"


@transaction.atomic
def check_in(actor: Actor, check: SiteCheck, due: datetime, minutes: int | None = None) -> SiteCheck:
    """All is well: `due` is the time that was to be kept, the next is so many minutes from now; without minutes it ends.

    Pressed twice, or on a page from before it was moved, it changes nothing and gives the check as it is."""
    locked(check.card)
    now = SiteCheck.objects.select_related("card").get(pk=check.pk)
    if now.check_in_at != due:
        return now
    if minutes is not None and not 0 < minutes <= LONGEST_MINUTES:
        raise Refused("The next check-in is at most a day away. Choose another time.")
    now.checked_in_at, now.checked_in_by = clock.now(), actor.name
    now.check_in_at = clock.now() + timedelta(minutes=minutes) if minutes else None
    now.save(update_fields=["checked_in_at", "checked_in_by", "check_in_at"])
    tell("inspections.checked_in", actor, now.card, then=f", {_due(now)}" if now.check_in_at else " and works alone no longer")
    return now


def _hold_or_release(card: Card, check: SiteCheck, actor: Actor) -> None:
    if check.verdict == SiteCheck.Verdict.REFUSED:
        write_hold(card, None, Hold.Stops.START, f"Do not work here: {check.why}"[:200], ROOM)
        return
    for hold in card.holds.filter(by_room=ROOM, stops=Hold.Stops.START, released_at=None):
        write_release(hold, actor.name, "A later look at the place says: work here.")
