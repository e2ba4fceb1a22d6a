"""Read stops, what their way costs, and what to bring."""

import uuid as uuids
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.utils import timezone

from workshop import clock
from workshop.calc import ical, travel
from workshop.company import queries as company
from workshop.company.models import CallOutRule
from workshop.company.queries import CallOutPrice
from workshop.customers.models import Contact
from workshop.jobs.models import Card, Line, LinePart, Role
from workshop.links import queries as links
from workshop.scheduling.models import CalendarLink, Round, Stop
from workshop.staff.models import User

ASKED_FIRST = (Role.Kind.CALLER, Role.Kind.OWNER, Role.Kind.PAYER)
PEOPLE = Prefetch("roles", Role.objects.select_related("party", "contact"))
PEOPLE_OF_STOP = Prefetch("card__roles", Role.objects.select_related("party", "contact"))
FEED_READERS = (User.Role.OWNER, User.Role.MECHANIC)
DAYS_BACK, DAYS_AHEAD = 30, 60
TO_FETCH = (Line.Progress.PLANNED, Line.Progress.STARTED)
CALENDAR = "calendar"


def day_of(moment: datetime) -> date:
    """The day where the business is."""
    return timezone.localtime(moment).date()


def stop(uid: uuids.UUID) -> Stop | None:
    """The stop with its card, vehicle and call-out line, or None."""
    return Stop.objects.select_related("card__vehicle", "call_out_line").filter(uid=uid).first()


def live(first: date, last: date | None = None) -> QuerySet[Stop]:
    """Stops of a day, or of a first to a last one, in the order they are driven; none that is cancelled, nor of a cancelled card."""
    found = Stop.objects.filter(planned_on__gte=first, planned_on__lte=last or first, cancelled_at=None)
    return found.exclude(card__state=Card.State.CANCELLED).order_by("planned_on", "position", "planned_at", "pk")


def of_card(card: Card) -> list[Stop]:
    """Every stop of a card, cancelled ones too, in order of time."""
    return list(card.stops.select_related("call_out_line").order_by("planned_at", "pk"))


def last_way(card: Card) -> Stop | None:
    """The newest stop at the same place with the same vehicle whose way was written down, or None."""
    same = Stop.objects.filter(card__vehicle=card.vehicle_id, card__place=card.place, km_each_way__gt=0)
    return same.order_by("-planned_at", "-pk").first()


def due_at(card: Card) -> datetime | None:
    """The first appointment of a card that is still to come; when all are done the last one; None without any."""
    ahead = card.stops.filter(cancelled_at=None, done_at=None).order_by("planned_at").first()
    found = ahead or card.stops.filter(cancelled_at=None).order_by("planned_at").last()
    return found.planned_at if found else None


def customer(card: Card) -> tuple[str, Contact | None]:
    """Whose card it is, by name, and whom to call. No query when the roles were fetched by PEOPLE."""
    roles = {role.kind: role for role in card.roles.all()}
    asked = [roles[kind] for kind in ASKED_FIRST if kind in roles]
    reached = [role.contact for role in asked if role.contact and role.contact.phone]
    return (asked[0].party.name if asked else "", reached[0] if reached else None)


def bring(cards: Iterable[Card]) -> dict[int, list[str]]:
    """Card to the parts of its accepted lines that are not done yet, with how many when it is not one. One query."""
    parts = LinePart.objects.filter(line__card__in=list(cards), line__answer=Line.Answer.ACCEPTED, line__progress__in=TO_FETCH)
    found: dict[int, list[str]] = {}
    for part in parts.select_related("line").order_by("line__number", "pk"):
        words = part.words if part.quantity == 1 else f"{part.quantity.normalize():f} × {part.words}"
        if words not in found.setdefault(part.line.card_id, []):
            found[part.line.card_id].append(words)
    return found


def tools(cards: Iterable[Card]) -> dict[int, list[str]]:
    """Card to the tools that the operations of its lines name. No operation names one yet: the catalogue will."""
    return {}


@dataclass(frozen=True)
class Share:
    """A stop with what its call-out costs alone and, when the real round is known and fits, its share and price on it."""

    stop: Stop
    alone: CallOutPrice
    km: Decimal | None = None
    minutes: int | None = None
    on_round: CallOutPrice | None = None

    @property
    def price(self) -> CallOutPrice:
        """What is charged: on the round when that is known."""
        return self.on_round or self.alone

    @property
    def net(self) -> Decimal:
        """The price with what the way costs beside, which no round shares and no hour of the night raises."""
        return self.price.net + (self.stop.extra_amount or Decimal(0))


def round_of(day: date) -> Round | None:
    """What was really driven on a day, if it was written down."""
    return Round.objects.filter(driven_on=day).first()


def alone_km(stops: Iterable[Stop]) -> Decimal:
    """There and back, each stop as if driven alone."""
    return sum((2 * stop.km_each_way for stop in stops), Decimal(0))


def alone_minutes(stops: Iterable[Stop]) -> int:
    """At the wheel, each stop as if driven alone."""
    return sum(2 * stop.minutes_each_way for stop in stops)


def fits(driven: Round, stops: Sequence[Stop]) -> bool:
    """Whether a round is no longer than its stops would be alone: then nobody pays more than alone."""
    return 0 < driven.km <= alone_km(stops) and (driven.minutes or 0) <= alone_minutes(stops)


def shares(day: date) -> list[Share]:
    """The day's stops with their call-outs. Raises LookupError, with a sentence, when no rule or rate is set. Five queries."""
    stops = list(live(day).select_related("card__vehicle").prefetch_related(PEOPLE_OF_STOP))
    rule = company.call_out_rule_on(day)
    hour_amount = company.rate_on(rule.travel_class, day)
    driven = round_of(day)
    if driven is None or not fits(driven, stops):
        return [Share(stop, _alone(stop, rule, hour_amount)) for stop in stops]
    km = travel.split_round(driven.km, [2 * stop.km_each_way for stop in stops])
    own = [2 * stop.minutes_each_way for stop in stops]
    minutes = own if driven.minutes is None else travel.split_minutes(driven.minutes, own)
    return [
        Share(
            stop=stop,
            alone=_alone(stop, rule, hour_amount),
            km=part,
            minutes=time,
            on_round=company.driven_price(rule, hour_amount, km=part, minutes=time, factor=company.factor_at(rule, stop.planned_at)),
        )
        for stop, part, time in zip(stops, km, minutes, strict=True)
    ]


def _alone(stop: Stop, rule: CallOutRule, hour_amount: Decimal) -> CallOutPrice:
    return company.call_out_price(
        rule,
        hour_amount,
        km_each_way=stop.km_each_way,
        minutes_each_way=stop.minutes_each_way,
        factor=company.factor_at(rule, stop.planned_at),
    )


def share_of(stop: Stop) -> Share:
    """The stop's call-out, alone or on the round of its day. Raises LookupError, with a sentence, when no rule or rate is set."""
    found = [share for share in shares(stop.planned_on) if share.stop.pk == stop.pk]
    if found:
        return found[0]
    rule = company.call_out_rule_on(stop.planned_on)
    return Share(stop, _alone(stop, rule, company.rate_on(rule.travel_class, stop.planned_on)))


def call_out_lines(card: Card) -> list[Line]:
    """What the card charges for coming already: lines of that kind that are not withdrawn."""
    return list(card.lines.filter(kind=Line.Kind.FIRST_PRICE).exclude(answer=Line.Answer.WITHDRAWN))


def calendar_link(user: User) -> CalendarLink | None:
    """The person's link when it still works, or None."""
    found = CalendarLink.objects.select_related("link").filter(user=user, link__revoked_at=None).order_by("-pk").first()
    return found if found and links.alive(found.link) else None


def reader(token: str) -> User | None:
    """Whose calendar program asks: a link that is alive, of a person who still works here in a role that may. Else None."""
    link = links.find(token, CALENDAR)
    if link is None or not links.alive(link):
        return None
    found = CalendarLink.objects.select_related("user").filter(link=link).first()
    return found.user if found and found.user.is_active and found.user.role in FEED_READERS else None


def feed() -> str:
    """The calendar: stops of the last 30 and the next 60 days, as RFC 5545 writes them. Name, place and vehicle, no telephone number."""
    today = clock.today()
    stops = live(today - timedelta(days=DAYS_BACK), today + timedelta(days=DAYS_AHEAD))
    entries = [_entry(stop) for stop in stops.select_related("card__vehicle").prefetch_related(PEOPLE_OF_STOP)]
    return ical.calendar(f"Stops, {company.company().name}", entries)


def _entry(stop: Stop) -> ical.Entry:
    vehicle = f"{stop.card.vehicle} {stop.card.vehicle.plate}".strip()
    who = customer(stop.card)[0] or "No name yet"
    return ical.Entry(
        uid=str(stop.uid),
        starts_at=stop.planned_at,
        minutes=stop.minutes,
        title=f"{who}, {stop.card.vehicle}",
        place=stop.card.place,
        words=f"{vehicle}, card {stop.card}",
        changed_at=stop.changed_at,
        changes=stop.changes,
    )


def facts(stop: Stop) -> Mapping[str, Any]:
    """A stop as its form shows it."""
    names = ("minutes", "km_each_way", "minutes_each_way", "extra_words", "extra_amount")
    return {"at": timezone.localtime(stop.planned_at), **{name: getattr(stop, name) for name in names}}
