"""Builds the make-believe business by calling the real verbs, dated relative to today."""

import datetime as dt
import json
import shutil
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db import transaction

from workshop import clock
from workshop.bookkeeping import actions as bookkeeping
from workshop.bookkeeping import queries as bookkeeping_queries
from workshop.company import actions as company
from workshop.demo import story
from workshop.history.actions import Actor
from workshop.rounds import actions as rounds
from workshop.staff.models import User

FOLDER = settings.BASE_DIR / "fixtures/demo"


def read(name: str) -> Any:
    """A file of the demo's fixtures."""
    return json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))


def people() -> list[dict[str, str]]:
    """The staff of the demo with their passwords, which are no secret."""
    return list(read("business")["people"])


def standing() -> bool:
    """Whether the whole of it was built before; a build that was broken off does not count."""
    return (settings.DATA_DIR / "built").exists()


def clear() -> None:
    """Throws the demo's data away, but for the key that its links are signed with."""
    for path in settings.DATA_DIR.iterdir():
        if path.is_dir() and path != settings.STATIC_ROOT:
            shutil.rmtree(path)
        elif path.is_file() and path.name != "secret":
            path.unlink()


def build() -> None:
    """The whole business, in an empty place. Raises ValueError when there is a part of one."""
    today = clock.today()
    begun = dt.datetime.combine(today - dt.timedelta(days=430), dt.time(8), tzinfo=dt.UTC)
    with clock.frozen(begun), transaction.atomic():
        _set_up(begun.date())
    story.finished_jobs(read("finished"), read("business")["customers"], today)
    story.months_closed(today)
    story.dairy(read("story_a"), read("business")["customers"]["dairy"])
    story.camper(read("story_b"), read("business")["customers"]["osgood"])
    (settings.DATA_DIR / "built").touch()


def accounts() -> None:
    """The suggested accounts of the tax profile, so that books can be written."""
    bookkeeping.map_accounts(Actor.system("demo"), bookkeeping_queries.suggested_accounts("vellmark"))


def _set_up(from_on: dt.date) -> None:
    business, actor = read("business"), Actor.system("demo")
    company.set_up(actor, **business["company"])
    for rate_class, amount in business["rates"].items():
        company.set_rate(actor, rate_class, from_on, Decimal(amount))
    call_out: dict[str, Any] = {name: Decimal(value) for name, value in business["call_out"].items()}
    company.set_call_out(actor, from_on, travel_class="travel", **call_out)
    for kind, text in business["wordings"].items():
        company.write_wording(actor, kind, text)
    accounts()
    for person in business["people"]:
        User.objects.create_user(**person)
    rounds.take_usual(actor)
