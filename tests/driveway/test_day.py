"""driveway:day, and what a phone is told to keep of it."""

import datetime as dt

from django.test import Client
from pytest_django import DjangoAssertNumQueries

from tests.browser import stock
from workshop import clock
from workshop.driveway import queries
from workshop.history.actions import Actor
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card
from workshop.staff.models import User

DAY = dt.timedelta(days=1)


def test_the_sheet_shows_a_stop(as_mechanic: Client, card: Card) -> None:
    text = as_mechanic.get("/m/").content.decode()
    for words in (
        "14:30",
        "Osgood Plumtree",
        "Ostrel Wander 28",
        "VM 00 DEMO-2",
        "Plumtree farm, behind the barn",
        "Warm smell at the front",
    ):
        assert words in text
    assert 'data-page="driveway:day"' in text


def test_today_tomorrow_and_the_rest_in_order(company: object, owner: User) -> None:
    actor = Actor.of(owner)
    today = clock.today()
    late, early, next_day, after, before = (
        stock.card_due(actor, day, dt.time(hour))
        for day, hour in ((today, 16), (today, 8), (today + DAY, 7), (today + 2 * DAY, 7), (today - DAY, 9))
    )
    gone = stock.card_due(actor, today, dt.time(9))
    Card.objects.filter(pk=gone.pk).update(state="closed")
    undated = stock.card_due(actor, today, dt.time(10))
    Card.objects.filter(pk=undated.pk).update(due_at=None)
    sheet = queries.sheet(today)
    assert [stop.card.pk for stop in sheet.today] == [early.pk, late.pk]
    assert [stop.card.pk for stop in sheet.tomorrow] == [next_day.pk]
    assert [stop.card.pk for stop in sheet.waiting] == [before.pk, undated.pk]
    assert after.pk not in [stop.card.pk for stop in sheet.stops]


def test_a_late_evening_belongs_to_the_day_where_the_business_is(company: object, owner: User) -> None:
    """23:30 in Vienna is 22:30 UTC the same day; 00:30 is the UTC day before."""
    today = clock.today()
    evening, night = stock.card_due(Actor.of(owner), today, dt.time(23, 30)), stock.card_due(Actor.of(owner), today, dt.time(0, 30))
    assert [stop.card.pk for stop in queries.sheet(today).today] == [night.pk, evening.pk]


def test_as_many_cards_as_you_like_cost_the_same(
    django_assert_num_queries: DjangoAssertNumQueries, company: object, owner: User, as_mechanic: Client
) -> None:
    for count in (1, 6):
        for _ in range(count):
            stock.card_due(Actor.of(owner), clock.today(), dt.time(8))
        with django_assert_num_queries(4):
            assert queries.sheet(clock.today()).today


def test_who_may_read(client: Client, as_office: Client, as_bookkeeper: Client, as_owner: Client) -> None:
    found = [each.get("/m/").status_code for each in (client, as_office, as_owner, as_bookkeeper)]
    assert found == [302, 200, 200, 403]


def test_a_mark_changes_when_the_card_does(as_mechanic: Client, card: Card, owner: User) -> None:
    """driveway:today lists the run sheet and each card, each with its mark."""
    first = as_mechanic.get("/m/today.json").json()
    assert first["user"]
    assert [kept["url"] for kept in first["keep"]] == ["/m/", f"/m/card/{card.pk}/"]
    assert as_mechanic.get("/m/today.json").json()["keep"] == first["keep"]
    jobs.add_note(Actor.of(owner), card, "Gate code 4471.")
    second = as_mechanic.get("/m/today.json").json()
    assert [a["etag"] != b["etag"] for a, b in zip(first["keep"], second["keep"], strict=True)] == [True, True]


def test_who_is_signed_in(as_mechanic: Client, client: Client, mechanic: User) -> None:
    """driveway:session."""
    said = as_mechanic.get("/m/session/").json()
    assert (said["user"], said["name"]) == (str(mechanic.pk), "Pip Tansley-Vole")
    assert len(said["csrf"]) == 64
    assert as_mechanic.get("/m/session/")["Cache-Control"].startswith("max-age=0, no-cache, no-store")
    assert client.get("/m/session/").status_code == 302
