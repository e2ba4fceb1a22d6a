"""scheduling:feed, the calendar by link, and scheduling:calendar, where it is made and taken back."""

import datetime as dt

import icalendar
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from lxml import html

from tests.scheduling.stops import TESTER, TODAY, at, dairy, kinds, plan, plumtree, text, told
from workshop import clock
from workshop.links import queries as links
from workshop.scheduling import actions, queries

PAGE = reverse("scheduling:calendar")
MAKE, REVOKE = reverse("scheduling:calendar_make"), reverse("scheduling:calendar_revoke")


def address(user):
    kept = queries.calendar_link(user)
    return links.address(kept.link, "scheduling:feed").removeprefix("http://127.0.0.1:8000")


@pytest.fixture
def feed(mechanic, rule):
    """The mechanic's address."""
    actions.make_calendar(TESTER, mechanic)
    return address(mechanic)


def read(answer):
    return list(icalendar.Calendar.from_ical(answer.content).walk("VEVENT"))


def test_a_program_from_outside_reads_the_stops(card, other, feed, client):
    stop = plan(card, 10, 30)
    plan(other, 14)
    answer = client.get(feed)
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    first, second = read(answer)
    assert str(first["SUMMARY"]) == "Churnholt Valley Dairy, Tolvar Hodbearer 35"
    assert str(first["LOCATION"]) == "Upper yard, The Creamery"
    assert str(first["DESCRIPTION"]) == f"Tolvar Hodbearer 35 VM 00 DEMO-1, card {card}"
    assert (first.decoded("DTSTART"), first.decoded("DTEND")) == (at(10, 30), at(12))
    assert str(first["UID"]) == str(stop.uid) != str(second["UID"])
    assert first.decoded("DTSTAMP") == clock.now()


def test_no_telephone_number_is_in_it(card, other, feed, client):
    plan(card)
    plan(other)
    assert "555" not in client.get(feed).content.decode()
    assert "Races on the climb" not in client.get(feed).content.decode()


def test_a_change_keeps_the_uid_and_counts(card, feed, client):
    stop = plan(card)
    (before,) = read(client.get(feed))
    with clock.frozen(clock.now() + dt.timedelta(hours=1)):
        actions.change_stop(TESTER, stop, seen=stop.changes, at=at(16), minutes=30, km_each_way=0, minutes_each_way=0)
        (after,) = read(client.get(feed))
    assert str(before["UID"]) == str(after["UID"])
    assert after["SEQUENCE"] == before["SEQUENCE"] + 1
    assert after.decoded("DTSTAMP") - before.decoded("DTSTAMP") == dt.timedelta(hours=1)


def test_from_thirty_days_ago_to_sixty_ahead_and_none_that_is_cancelled(card, feed, client):
    for days in (-31, -30, 0, 60, 61):
        plan(card, day=TODAY + dt.timedelta(days=days))
    actions.cancel_stop(TESTER, plan(card, 16), "Late.")
    assert [event.decoded("DTSTART").date() for event in read(client.get(feed))] == [
        TODAY - dt.timedelta(days=30), TODAY, TODAY + dt.timedelta(days=60),
    ]  # fmt: skip


@pytest.mark.usefixtures("rule")
def test_hostile_names_are_only_words(feed, client):
    name = "Plum\r\nBEGIN:VALARM\r\nTRIGGER:-PT1M\r\n<script>;,\\" + "é" * 60
    card = plumtree(customer={"kind": "private", "name": name}, place='=HYPERLINK("x")\nATTENDEE:mailto:a@b.example')
    plan(card)
    answer = client.get(feed)
    (event,) = read(answer)
    assert not event.subcomponents and "ATTENDEE" not in event and "TRIGGER" not in event
    assert all(len(line) <= 75 for line in answer.content.split(b"\r\n"))
    assert b"\r\nBEGIN:VALARM" not in answer.content


def test_it_tells_nobody_and_keeps_nothing(card, feed, client):
    plan(card)
    before, answer = told(), client.get(feed)
    assert answer["Cache-Control"] == "no-store" and answer["Referrer-Policy"] == "no-referrer"
    assert answer["X-Robots-Tag"] == "noindex, nofollow, noarchive"
    assert client.head(feed).status_code == 200 and client.post(feed).status_code == 405
    assert told() == before


def test_every_link_that_does_not_work_is_the_same_plain_404(card, feed, mechanic, client):
    plan(card)
    unknown = client.get(reverse("scheduling:feed", args=["x" * 43]))
    actions.revoke_calendar(TESTER, mechanic)
    revoked = client.get(feed)
    actions.make_calendar(TESTER, mechanic)
    fresh = address(mechanic)
    with clock.frozen(clock.now() + dt.timedelta(days=732)):
        expired = client.get(fresh)
    mechanic.role = "office"
    mechanic.save()
    moved_on = client.get(fresh)
    mechanic.role, mechanic.is_active = "mechanic", False
    mechanic.save()
    gone = client.get(fresh)
    found = [unknown, revoked, expired, moved_on, gone]
    assert {answer.status_code for answer in found} == {404}
    assert len({answer.content for answer in found}) == 1
    assert b"Churnholt" not in revoked.content


def test_a_link_of_another_purpose_opens_nothing(card, client):
    from workshop.links.actions import make

    link = make("quote", card.uid, "Osgood", clock.now() + dt.timedelta(days=1))
    assert client.get(links.address(link, "scheduling:feed").removeprefix("http://127.0.0.1:8000")).status_code == 404


def test_as_many_stops_as_you_like_cost_the_same(feed, client):
    def asked():
        with CaptureQueriesContext(connection) as captured:
            assert client.get(feed).status_code == 200
        return len(captured)

    plan(dairy())
    few = asked()
    for hour in range(6):
        plan(dairy(), 10 + hour, 30)
    assert asked() == few <= 6


def test_it_is_made_shown_and_taken_back(company, mechanic, as_mechanic):
    before = told()
    assert "No link yet." in text(as_mechanic.get(PAGE))
    assert [as_mechanic.post(MAKE).status_code for _ in range(2)] == [302, 302]
    shown = html.fromstring(as_mechanic.get(PAGE).content.decode()).xpath("//textarea")[0].text.strip()
    assert shown == "http://127.0.0.1:8000" + address(mechanic)
    assert Client().get(address(mechanic)).status_code == 200
    assert [as_mechanic.post(REVOKE).status_code for _ in range(2)] == [302, 302]
    assert "No link yet." in text(as_mechanic.get(PAGE))
    assert kinds(before) == ["scheduling.calendar_made", "scheduling.calendar_revoked"]


def test_everybody_has_a_link_of_their_own(company, mechanic, owner, as_mechanic, as_owner):
    as_mechanic.post(MAKE)
    as_owner.post(MAKE)
    mine, theirs = address(mechanic), address(owner)
    as_owner.post(REVOKE)
    assert mine != theirs
    assert [Client().get(each).status_code for each in (mine, theirs)] == [200, 404]


def test_who_may_have_one(company, client, as_office, as_bookkeeper):
    for each, status in ((client, 302), (as_office, 403), (as_bookkeeper, 403)):
        assert {each.get(PAGE).status_code, each.post(MAKE).status_code, each.post(REVOKE).status_code} == {status}
