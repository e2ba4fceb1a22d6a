"""Cards and stops of the make-believe business, by the real verbs."""

import datetime as dt
import uuid
from decimal import Decimal
from typing import Any

from django.utils import timezone
from lxml import html

from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card
from workshop.scheduling import actions
from workshop.scheduling.models import Stop

TESTER = Actor.system("tester")
TODAY = dt.date(2026, 11, 25)
HOSTILE = "<script>alert(1)</script>"


def dairy(**more: Any) -> Card:
    """The milk lorry on the upper yard."""
    what = {
        "customer": {"kind": "firm", "name": "Churnholt Valley Dairy"},
        "vehicle": {"make": "Tolvar", "model": "Hodbearer 35", "plate": "VM 00 DEMO-1"},
        "words": "Races on the climb, smells burnt.",
        "place": "Upper yard, The Creamery",
        "caller": {"name": "Tobin Marrow", "phone": "+999 555 010 124", "role": "driver"},
    }
    return jobs.take_enquiry(TESTER, **{**what, **more})


def plumtree(**more: Any) -> Card:
    """The camper on the gravel."""
    what = {
        "customer": {"kind": "private", "name": "Osgood Plumtree", "phone": "+999 555 010 131"},
        "vehicle": {"make": "Ostrel", "model": "Wander 28", "plate": "VM 00 DEMO-2"},
        "words": "Trip sheet, belt and pump.",
        "place": "9 Meridian Lane",
    }
    return jobs.take_enquiry(TESTER, **{**what, **more})


def at(hour: int, minute: int = 0, day: dt.date = TODAY) -> dt.datetime:
    """A moment where the business is."""
    return timezone.make_aware(dt.datetime.combine(day, dt.time(hour, minute)))


def plan(card: Card, hour: int = 10, minute: int = 0, day: dt.date = TODAY, km: str = "31", drive: int = 41, **more: Any) -> Stop:
    """A stop of 90 min, 31 km and 41 min each way unless told otherwise."""
    way = {"km_each_way": Decimal(km), "minutes_each_way": drive}
    return actions.plan_stop(TESTER, card, at=at(hour, minute, day), minutes=90, **way, **more)


def told() -> int:
    """How many lines history has."""
    return Event.objects.count()


def kinds(after: int) -> list[str]:
    """What history tells after its first so many lines."""
    return list(Event.objects.filter(seq__gt=after).values_list("kind", flat=True))


def a_uid() -> str:
    """A number as a page carries it."""
    return str(uuid.uuid4())


def text(answer: Any) -> str:
    """What a person reads on the page, boxes included."""
    page = html.fromstring(answer.content.decode())
    typed = [box.value or "" for box in page.xpath("//input[not(@type='hidden')] | //textarea")]
    return " ".join(" ".join([*page.itertext(), *typed]).split())
