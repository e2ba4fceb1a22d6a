"""Who may open what: every page by every role, for a thing that is there and one that is not; and reading changes no record.

The table is `tests/powers.txt`. A page that is not in it, or whose view says otherwise, fails here, and so does a page about a thing
of which `things` has none to show."""

import datetime as dt
import hashlib
import re
import uuid
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from django.apps import apps
from django.db import connection, transaction
from django.test import Client, TestCase
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.test_house import NAMES, PAGES, ROOMS, address, only_post
from workshop import clock
from workshop.bookkeeping.actions import write_batch, write_mapping
from workshop.bookkeeping.queries import suggested_accounts
from workshop.calc import clips
from workshop.catalogue.actions import write_kit, write_operation
from workshop.catalogue.models import Operation
from workshop.history.actions import Actor
from workshop.inspections.models import FindingPhoto
from workshop.jobs.models import Card, Complaint, Episode, Leaving, LinePart, Spell
from workshop.letters.actions import write_letter
from workshop.links import queries as links
from workshop.links.models import Link
from workshop.photos.actions import write_clip
from workshop.quotes import actions as quotes
from workshop.rounds import actions as rounds
from workshop.scheduling import actions as scheduling
from workshop.staff.models import User
from workshop.upkeep import stock
from workshop.vehicles.actions import read_meter

ROLES = ("owner", "mechanic", "office", "bookkeeper")
OPEN = "open"  # by link, or what the door needs: no login
TABLE = Path(__file__).with_name("powers.txt")
LEFT_OUT = {"book_searchword", "book_mark"}  # the index of the search box catches up when it is asked
VIEWS = dict(PAGES)
# A page by link that posts wants the nonce of its form; a paper of a go-ahead is there once there is a go-ahead; a fault is shown as one.
ITS_OWN = {"company:first": 404, "quotes:ask": 403, "quotes:order": 403, "quotes:paper": 404, "pages:fault": 500}


def declared() -> dict[str, list[str]]:
    """Page to who may open it."""
    rows = (line.split() for line in TABLE.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#"))
    return {page: sorted(roles) for page, *roles in rows}


def routes() -> dict[str, str]:
    """Page to its whole route: m/card/<int:pk>/line/."""

    def walk(resolver: URLResolver, before: str, namespace: str) -> Iterator[tuple[str, str]]:
        for entry in resolver.url_patterns:
            route = before + str(entry.pattern)
            if isinstance(entry, URLResolver):
                yield from walk(entry, route, entry.namespace or namespace)
            elif isinstance(entry, URLPattern) and namespace in ROOMS and entry.name:
                yield f"{namespace}:{entry.name}", route

    return dict(walk(get_resolver(), "", ""))


ROUTES = routes()


def test_no_address_leads_to_two_pages() -> None:
    """The first of two would hide the other."""
    shapes = [re.sub(r"<\w+:\w+>", "<>", route) for route in ROUTES.values()]
    assert [shape for shape in set(shapes) if shapes.count(shape) > 1] == []


def roles_of(name: str) -> list[str]:
    """What the view itself says."""
    return sorted(getattr(VIEWS[name].callback, "roles", {OPEN}))


def test_no_cell_is_undeclared() -> None:
    assert {name: roles_of(name) for name in NAMES} == declared()


def things(owner: User) -> dict[str, object]:
    """For each word that stands before an id in an address: the id of one that is there."""
    there = stock.fill(2)
    actor, day = Actor.of(owner), clock.today()
    stop = scheduling.plan_stop(actor, there.card, at=clock.now() + dt.timedelta(hours=1), minutes=60)
    question = quotes.ask(actor, there.version, number=there.line.number, text="May it wait?")
    write_mapping([*suggested_accounts("vellmark"), {"role": "sales", "name": "Income:Sales"}])
    batch = write_batch(actor, day, day)
    step, now = there.line.steps.get().step, clock.now()
    part = LinePart.objects.create(line=there.line, words="Seal", amount=1)
    opening = Episode.objects.create(step=step, opened_at=now, opened_by="Ada")
    listed = rounds.take_usual(actor)
    walk = rounds.begin_round(actor, there.card)
    left = Leaving.objects.create(card=there.card, state="open", supports="stands", keys="hook", told="Ilse", left_at=now, left_by="Ada")
    return {
        "step": step.uid,
        "opening": opening.uid,
        "spell": Spell.objects.create(line=there.line, person=owner, started_at=now).uid,
        "part": part.pk,
        "leaving": left.uid,
        "card": there.card.pk,
        "cards": there.card.pk,
        "invoices/new": there.card.pk,
        "line": there.line.uid,
        "lines": there.line.uid,
        "again": there.line.uid,
        "finding": there.finding.uid,
        "findings": there.finding.uid,
        "complaint": Complaint.objects.first().uid,
        "complaints": Complaint.objects.first().uid,
        "joint": there.joint_pk,
        "vehicles": there.card.vehicle_id,
        "customers": there.card.roles.first().party_id,
        "readings": read_meter(actor, there.card.vehicle, "km", 92_400).uid,
        "shown-photos": FindingPhoto.objects.first().pk,
        "photo": there.photo.uid,
        "clip": write_clip(clips.Clip("audio/wav", Decimal("1.0"), b"bench")).uid,
        "photos": there.photo.uid,
        "photos/size": "small",
        "invoices": there.document.uid,
        "accounts": there.document.payer.uid,
        "letters": write_letter("osgood@plumtree.example", "A letter", "invoices/mail/reminder.txt", {}, there.version.uid).uid,
        "books": batch.no,
        "books/name": batch.files.first().name,
        "people": owner.pk,
        "wordings": "terms",
        "stop": stop.uid,
        "rows": listed[0].uid,
        "walk": walk.uid,
        "walk-row": walk.rows.first().pk,
        "round": day.isoformat(),
        "quotes": there.version.uid,
        "questions": question.uid,
        "q": there.token,
        "i": links.token_of(Link.objects.get(purpose="invoice", subject_uid=there.document.uid)),
        "calendar": links.token_of(scheduling.make_calendar(actor, owner).link),
        "catalogue": write_operation(actor, uid=None, parts=[], steps=[], kind="due", words="Rear seal", own_minutes=34).uid,
        "kits": write_kit(actor, "Rear of the engine", Operation.objects.all()).uid,
        "op": uuid.uuid4(),
        "first": "x" * 43,  # the business is set up, so every token is dead
    }


def about(name: str, ids: dict[str, object]) -> str:
    """The address of a page for things that are there. KeyError, with the word, for a thing that `things` lacks."""
    values: dict[str, object] = {}
    before = ""
    for segment in ROUTES[name].split("/"):
        found = re.search(r"<\w+:(\w+)>", segment)
        if found:
            values[found[1]] = ids[f"{before}/{found[1]}"] if f"{before}/{found[1]}" in ids else ids[before]
        else:
            before = f"{before}/new" if segment == "new" and "invoices" in before else segment
    return reverse(name, kwargs=values)


def status(client: Client, name: str, where: str) -> int:
    """What a page answers when it is opened, or a button when it is pressed with nothing typed. What that did is taken back."""
    method = "PUT" if name == "driveway:operation" else "POST" if only_post(VIEWS[name]) else "GET"
    with transaction.atomic():
        answer = client.generic(method, where, data="{}" if method == "PUT" else "", content_type="application/json")
        transaction.set_rollback(True)
    return answer.status_code


@pytest.fixture
def signed_in(request: pytest.FixtureRequest) -> dict[str, Client]:
    return {role: request.getfixturevalue(f"as_{role}") for role in ROLES}


def wrong_doors(ids: dict[str, object], clients: dict[str, Client]) -> list[str]:
    """Each role at each page. One that may not is refused alike whether the thing is there or not; one that may meets no fault and no
    closed door."""
    wrong = []
    for name in NAMES:
        there, missing, may_open = about(name, ids), address(VIEWS[name], name), declared()[name]
        for role, client in clients.items():
            got = status(client, name, there)
            may = role in may_open or may_open == [OPEN]
            if not may and (got, status(client, name, missing)) != (403, 403):
                wrong.append(f"{role} {name}: {got}, not refused")
            if may and (got in {403, 404, 405} or got >= 500) and got != ITS_OWN.get(name):
                wrong.append(f"{role} {name}: {got}, though declared")
    return wrong


def faults(ids: dict[str, object], client: Client) -> list[str]:
    """Pages that meet a fault for whoever may open everything, about what is there and about what is not."""
    pages = [name for name in NAMES if name != "pages:fault"]
    return [name for name in pages for where in (about(name, ids), address(VIEWS[name], name)) if status(client, name, where) >= 500]


def records() -> dict[str, str]:
    """A hash of every business table."""
    tables = sorted(model._meta.db_table for room in ROOMS for model in apps.get_app_config(room).get_models(include_auto_created=True))
    found = {}
    with connection.cursor() as cursor:
        for table in set(tables) - LEFT_OUT:
            cursor.execute(f'SELECT * FROM "{table}"')
            rows = sorted(repr(row) for row in cursor.fetchall())
            found[table] = hashlib.sha256("\n".join(rows).encode()).hexdigest()
    return found


@pytest.mark.slow
@pytest.mark.sqlite_only  # roles are read from the views, and one database is enough to see a write
def test_every_page_by_every_role_and_reading_changes_no_record(company: object, owner: User, signed_in: dict[str, Client]) -> None:
    """Every page for what is there, missing, and over; and every page that answers GET leaves every table as it was."""
    with TestCase.captureOnCommitCallbacks(execute=True):
        ids = things(owner)
    before = records()
    for name in [name for name in NAMES if not only_post(VIEWS[name])]:
        for client in [*signed_in.values(), Client()]:
            client.get(about(name, ids))
    assert {table for table, hashed in records().items() if before[table] != hashed} == set()
    assert wrong_doors(ids, signed_in) == []
    Card.objects.filter(pk=ids["card"]).update(state="cancelled")
    assert faults(ids, signed_in["owner"]) == []
