"""The customer of the demo: a link that is good at every start."""

import datetime as dt

from workshop import clock
from workshop.demo import build, story
from workshop.jobs.models import Card
from workshop.links import actions as links
from workshop.links import queries
from workshop.quotes.models import Version


def customer_link() -> str:
    """The address of a fresh link to Osgood's quote; when that one was answered or has expired, he asks for the same again."""
    who = build.read("business")["customers"]["osgood"]
    version = _open_version(who["vehicle"]["plate"])
    if version is None:
        story.camper(build.read("story_b"), who)
        version = _open_version(who["vehicle"]["plate"])
    if version is None:
        raise RuntimeError("The demo has no open quote.")
    link = links.make("quote", version.uid, who["customer"]["name"], version.expires_at)
    return queries.address(link, "quotes:go_ahead")


def _open_version(plate: str) -> Version | None:
    soon = clock.now() + dt.timedelta(hours=12)
    return (
        Version.objects.filter(card__vehicle__plate=plate, state=Version.State.OPEN, expires_at__gt=soon)
        .exclude(card__state__in=[Card.State.CLOSED, Card.State.CANCELLED])
        .order_by("-sent_at")
        .first()
    )
