"""The verbs of stops, rounds and the calendar link."""

import uuid as uuids
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import timezone

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.jobs.actions import Refused, add_line, change_line, reason_of
from workshop.jobs.actions.common import locked_open, tell
from workshop.jobs.models import Card, Line
from workshop.links import actions as links
from workshop.scheduling import queries
from workshop.scheduling.models import CalendarLink, Round, Stop
from workshop.staff.models import User

EVENTS = {
    "scheduling.stop_planned": "planned a stop for {when}, {minutes} min there",
    "scheduling.stop_changed": "changed the stop of {was}: {when}, {minutes} min there, {km} km each way",
    "scheduling.stop_moved": "put the stop of {when} {way} on the run sheet",
    "scheduling.stop_done": "was there: the stop of {when} is done",
    "scheduling.stop_undone": "took back that the stop of {when} is done",
    "scheduling.not_charged": "said that the stop of {when} is not charged: {reason}",
    "scheduling.charged_again": "took back that the stop of {when} is not charged",
    "scheduling.stop_cancelled": "cancelled the stop of {when}: {reason}",
    "scheduling.round_set": "wrote down {km} km for the round of {day}",
    "scheduling.calendar_made": "made a calendar link",
    "scheduling.calendar_revoked": "took the calendar link back",
}
STALE = "Somebody changed this stop after you opened the sheet. It stands below as it is now."
LINK_DAYS = 731
WAYS = ("earlier", "later")


def _when(stop: Stop) -> str:
    return f"{timezone.localtime(stop.planned_at):%Y-%m-%d %H:%M}"


def _locked(stop: Stop, *days: date) -> tuple[Card, Stop]:
    """The card, then the stop with every stop of those days, in one order for every verb: two phones never wait for each other.

    Refused for a closed or cancelled card and for a cancelled stop."""
    card = locked_open(stop.card)
    fresh = next(each for each in _lock_days(Q(planned_on__in=days) | Q(pk=stop.pk)) if each.pk == stop.pk)
    if fresh.cancelled_at:
        raise Refused(f"The stop of {_when(fresh)} is cancelled: “{fresh.cancelled_reason}” Plan a new one.")
    return card, fresh


def _lock_days(which: Q) -> list[Stop]:
    """These stops, locked until commit, the oldest record first."""
    return list(Stop.objects.select_for_update().filter(which).order_by("pk"))


def _keep(stop: Stop) -> None:
    """Saves the stop, counts the change, and writes the card's due_at along."""
    stop.changes, stop.changed_at = stop.changes + 1, clock.now()
    stop.save()
    Card.objects.filter(pk=stop.card_id).update(due_at=queries.due_at(stop.card))


def _line_up(stops: Sequence[Stop]) -> None:
    """Numbers a day's stops as they stand."""
    for position, each in enumerate(stops, 1):
        each.position = position
    Stop.objects.bulk_update(stops, ["position"])


def _by_time(stop: Stop) -> None:
    """Puts a stop into its day, whose stops are locked, before the first that starts later; the others keep their order."""
    others = list(queries.live(stop.planned_on).exclude(pk=stop.pk))
    place = next((place for place, other in enumerate(others) if other.planned_at > stop.planned_at), len(others))
    _line_up([*others[:place], stop, *others[place:]])


def _refuse_twice(card: Card, at: datetime, but: Stop | None = None) -> None:
    others = card.stops.filter(planned_at=at, cancelled_at=None)
    if others.exclude(pk=but.pk).exists() if but else others.exists():
        raise Refused("This card has a stop at that time already. Change that one, or choose another time.")


@transaction.atomic
def plan_stop(
    actor: Actor,
    card: Card,
    *,
    at: datetime,
    minutes: int,
    km_each_way: Decimal | int = 0,
    minutes_each_way: int = 0,
    extra_words: str = "",
    extra_amount: Decimal | None = None,
    uid: uuids.UUID | None = None,
) -> Stop:
    """An appointment of a card: when (aware), how long, the way by road as if driven alone, and what it costs beside (net): a ferry, a
    toll. The same uid gives the stop that is there.

    Refused for a closed card, a second stop of the card at the same time, or a uid that stands on another card."""
    now = locked_open(card)
    if uid and (there := Stop.objects.filter(uid=uid).first()):
        if there.card_id != now.pk:
            raise Refused("This stop already stands on another card. Plan it again here.")
        return there
    _lock_days(Q(planned_on=queries.day_of(at)))
    _refuse_twice(now, at)
    way = {"km_each_way": Decimal(km_each_way), "minutes_each_way": minutes_each_way}
    way |= {"extra_words": extra_words, "extra_amount": extra_amount}
    stop = Stop(uid=uid or uuids.uuid4(), card=now, planned_on=queries.day_of(at), planned_at=at, minutes=minutes, **way)
    _keep(stop)
    _by_time(stop)
    tell("scheduling.stop_planned", actor, now, when=_when(stop), minutes=minutes)
    return stop


@transaction.atomic
def change_stop(
    actor: Actor,
    stop: Stop,
    *,
    seen: int,
    at: datetime,
    minutes: int,
    km_each_way: Decimal | int,
    minutes_each_way: int,
    extra_words: str = "",
    extra_amount: Decimal | None = None,
) -> Stop:
    """Another time, length or way, or other costs beside. `seen` is the count of changes the sheet showed. Nothing changed, nothing
    recorded. Refused when somebody changed it meanwhile, or the card has another stop at that time."""
    card, fresh = _locked(stop, stop.planned_on, queries.day_of(at))
    wanted = {"planned_at": at, "minutes": minutes, "km_each_way": Decimal(km_each_way), "minutes_each_way": minutes_each_way}
    wanted |= {"extra_words": extra_words, "extra_amount": extra_amount}
    if all(getattr(fresh, name) == value for name, value in wanted.items()):
        return fresh
    if seen != fresh.changes:
        raise Refused(STALE)
    _refuse_twice(card, at, but=fresh)
    was, moved = _when(fresh), fresh.planned_at != at
    for name, value in wanted.items():
        setattr(fresh, name, value)
    fresh.planned_on = queries.day_of(at)
    _keep(fresh)
    if moved:
        _by_time(fresh)
    tell("scheduling.stop_changed", actor, card, was=was, when=_when(fresh), minutes=minutes, km=str(fresh.km_each_way))
    return fresh


@transaction.atomic
def move_stop(actor: Actor, stop: Stop, way: str, *, seen: int) -> Stop:
    """One place earlier or later on the day's run sheet; the time that the customer was told stays.

    Refused at the end of the day, and when somebody changed the stop meanwhile: a second tap moves nothing."""
    card, fresh = _locked(stop, stop.planned_on)
    if way not in WAYS:
        raise Refused("A stop moves earlier or later.")
    if seen != fresh.changes:
        raise Refused(STALE)
    stops = list(queries.live(fresh.planned_on))
    place = next(place for place, other in enumerate(stops) if other.pk == fresh.pk)
    other = place - 1 if way == "earlier" else place + 1
    if not 0 <= other < len(stops):
        raise Refused(f"It is the {'first' if way == 'earlier' else 'last'} stop of the day already.")
    stops[place] = fresh
    stops[place], stops[other] = stops[other], stops[place]
    _keep(fresh)
    _line_up(stops)
    tell("scheduling.stop_moved", actor, card, when=_when(fresh), way=way)
    return fresh


@transaction.atomic
def finish_stop(actor: Actor, stop: Stop, *, done: bool = True) -> Stop:
    """We were there; or, with done=False, that was pressed too soon. Said twice it is recorded once."""
    card, fresh = _locked(stop)
    if done == bool(fresh.done_at):
        return fresh
    fresh.done_at = clock.now() if done else None
    _keep(fresh)
    tell("scheduling.stop_done" if done else "scheduling.stop_undone", actor, card, when=_when(fresh))
    return fresh


@transaction.atomic
def cancel_stop(actor: Actor, stop: Stop, reason: str) -> Stop:
    """We do not go. It stays on the card with its reason. Refused without one, for a stop that is done, and the second time."""
    why = reason_of(reason)
    card, fresh = _locked(stop)
    if fresh.done_at:
        raise Refused("We were there: it is done. Take that back first if it is wrong.")
    fresh.cancelled_at, fresh.cancelled_reason = clock.now(), why
    _keep(fresh)
    tell("scheduling.stop_cancelled", actor, card, when=_when(fresh), reason=why)
    return fresh


def seen_of_round(driven: Round | None) -> str:
    """What a sheet showed of a round."""
    return f"{driven.km}/{driven.minutes}" if driven else ""


@transaction.atomic
def set_round(actor: Actor, day: date, *, km: Decimal, minutes: int | None, seen: str) -> Round:
    """What was really driven on a day, from the first stop to the door again, and minutes at the wheel when known.

    Refused without stops that have a way, for more than all of them alone, and when somebody wrote it down meanwhile."""
    stops = list(queries.live(day).order_by("pk").select_for_update(of=("self",)))
    there = Round.objects.select_for_update().filter(driven_on=day).first()
    if there and (there.km, there.minutes) == (km, minutes):
        return there
    if seen != seen_of_round(there):
        raise Refused("Somebody wrote this round down after you opened the sheet. It stands in the boxes of the sheet now: look first.")
    alone, wheel = queries.alone_km(stops), queries.alone_minutes(stops)
    if not alone:
        raise Refused("No stop of this day has a way. Write the kilometres on each stop first.")
    if not 0 < km <= alone:
        raise Refused(f"{km} km. A round has more than 0 and at most the {alone} km of all stops alone: a detour is nobody’s to pay.")
    if (minutes or 0) > wheel:
        raise Refused(f"{minutes} min. A round has at most the {wheel} min of all stops alone: a detour is nobody’s to pay.")
    try:
        with transaction.atomic():
            kept, _ = Round.objects.update_or_create(driven_on=day, defaults={"km": km, "minutes": minutes})
    except IntegrityError as double:
        raise Refused("Somebody wrote this round down just now. Open the sheet again.") from double
    record("scheduling.round_set", actor, payload={"day": day.isoformat(), "km": str(km), "minutes": minutes})
    return kept


@transaction.atomic
def charge_call_out(actor: Actor, stop: Stop, *, shown: str) -> Line:
    """The stop's call-out, ferry and toll included, as a draft line of the card: kind first_price, fixed amount with its reason; jobs
    records it. Pressed twice it is one line; a draft at another price is rewritten.

    Refused for a stop that is not charged, without a rule, when the price is no longer what the sheet showed, and when a customer has
    seen the line at another price."""
    card, fresh = _locked(stop)
    if fresh.free_reason:
        raise Refused(f"This stop is not charged: “{fresh.free_reason}” Take that back first.")
    try:
        share = queries.share_of(fresh)
    except LookupError as unset:
        raise Refused(str(unset)) from unset
    net, line = share.net, fresh.call_out_line
    there = line if line and line.answer != Line.Answer.WITHDRAWN else None
    if there and there.fixed_amount == net:
        return there
    if shown != str(net):
        raise Refused(f"The call-out is {net} now, not what you saw. Look at it, then press again.")
    if there and there.answer != Line.Answer.DRAFT:
        raise Refused(f"Line {there.number} went to the customer at {there.fixed_amount}. Strike it before you make another.")
    what: dict[str, Any] = {
        "kind": Line.Kind.FIRST_PRICE,
        "words": "Call-out, there and back",
        "plain_words": "Driving to your vehicle and back.",
        "fixed_amount": net,
        "fixed_reason": _reason(fresh, share),
    }
    if there:
        return change_line(actor, there, **what)
    made = add_line(actor, card, **what)
    Stop.objects.filter(pk=fresh.pk).update(call_out_line=made)
    return made


def _reason(stop: Stop, share: queries.Share) -> str:
    """How the price came about, in one sentence."""
    factor = "" if share.price.factor == 1 else f", times {share.price.factor.normalize():f} for the hour"
    beside = f"; {stop.extra_words} {stop.extra_amount}" if stop.extra_amount else ""
    if share.on_round is None:
        return f"{stop.km_each_way} km and {stop.minutes_each_way} min each way, {_when(stop)}{factor}{beside}"
    return f"{share.km} km and {share.minutes} min of the round of {stop.planned_on}{factor}; alone {share.alone.net}{beside}"


@transaction.atomic
def waive_charge(actor: Actor, stop: Stop, reason: str) -> Stop:
    """Nobody pays for this stop: we come again for a part that we forgot. Said again with the same reason it is not recorded again.

    Refused without a reason, and while a line of the card charges it."""
    why = reason_of(reason)
    card, fresh = _locked(stop)
    if fresh.free_reason == why:
        return fresh
    line = fresh.call_out_line
    if line and line.answer != Line.Answer.WITHDRAWN:
        raise Refused(f"Line {line.number} charges this stop. Strike it on the card first.")
    fresh.free_reason = why
    fresh.save(update_fields=["free_reason"])
    tell("scheduling.not_charged", actor, card, when=_when(fresh), reason=why)
    return fresh


@transaction.atomic
def charge_again(actor: Actor, stop: Stop) -> Stop:
    """The stop may be charged after all. Said twice it is recorded once."""
    card, fresh = _locked(stop)
    if not fresh.free_reason:
        return fresh
    fresh.free_reason = ""
    fresh.save(update_fields=["free_reason"])
    tell("scheduling.charged_again", actor, card, when=_when(fresh))
    return fresh


@transaction.atomic
def make_calendar(actor: Actor, user: User) -> CalendarLink:
    """The person's calendar link; the one that works when there is one."""
    User.objects.select_for_update().get(pk=user.pk)
    if there := queries.calendar_link(user):
        return there
    uid = uuids.uuid4()
    link = links.make(queries.CALENDAR, uid, str(user)[:120], clock.now() + timedelta(days=LINK_DAYS))
    made = CalendarLink.objects.create(uid=uid, user=user, link=link)
    record("scheduling.calendar_made", actor, payload={"for_whom": str(user)})
    return made


@transaction.atomic
def revoke_calendar(actor: Actor, user: User) -> None:
    """From now on the link leads nowhere. Said twice it is recorded once."""
    User.objects.select_for_update().get(pk=user.pk)
    there = queries.calendar_link(user)
    if there is None:
        return
    links.revoke(there.link)
    record("scheduling.calendar_revoked", actor, payload={"for_whom": str(user)})
