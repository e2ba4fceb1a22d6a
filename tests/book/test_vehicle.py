"""book:vehicle, everything ever known of one vehicle; book:vehicle_details."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import connection
from django.template import Context
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.book.making import another_card, left, pads
from tests.jobs.cards import HOSTILE, SOURCE, TESTER, dairy_card, kinds, seal_line, told
from workshop import clock
from workshop.book.models import HandOver
from workshop.book.queries import visits
from workshop.book.queries.carried import carried
from workshop.book.templatetags.book_pieces import asked_before
from workshop.files.actions import store
from workshop.history.models import Event
from workshop.inspections import actions as inspections
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card
from workshop.specifications import actions as specifications
from workshop.vehicles import actions as vehicles
from workshop.vehicles.models import Vehicle
from workshop.worksheets import actions as worksheets


def shown(client, vehicle, **more):
    return " ".join(client.get(reverse("book:vehicle", args=[vehicle.pk]), more).content.decode().split())


def full(card):
    """A card with everything a book holds."""
    left(card)
    line = seal_line(card, critical=True)
    value = specifications.add_value(TESTER, source=SOURCE, component="Seal housing", number=Decimal(10), unit="N·m", stages=[])
    joint = worksheets.add_joint(TESTER, line, component="Seal housing", fasteners=6, value=value)
    worksheets.tick_joint(TESTER, joint, shown=Decimal("10"), unit="N·m", tool="Torque wrench T2")
    jobs.finish_line(TESTER, line)
    vehicles.read_meter(TESTER, card.vehicle, "km", 92_400, card_id=card.pk)
    jobs.add_note(TESTER, card, "Keys hang in the milk office.")
    row = worksheets.PartIn("cylinder 2", f"SER-{card.pk}")
    worksheets.fit_parts(TESTER, card, "Injector", [row])
    worksheets.add_follow_up(TESTER, card, worksheets.FollowUpIn("Look for oil", due_km=Decimal(92_900)))
    worksheets.add_deviation(TESTER, card, makers_value="hose H-4", fitted_value="straight hose", reason="Gone.", agreed_by="Ilse")
    HandOver.objects.create(card=card, given_to="Tobin Marrow", paper=store(b"sheet", "application/pdf"), by="Ada", at=clock.now())


def test_it_tells_everything_of_a_visit(company, as_mechanic):
    card = dairy_card()
    full(card)
    text = shown(as_mechanic, card.vehicle)
    for said in (
        "Races on the climb", "Front pads worn", "5.2", "Front pads", "not now", "brakes longer", "Rear crank seal", "done",
        "the tool showed 10", "Torque wrench T2", "92,400", "Churnholt Valley Dairy", "Keys hang in the milk office", str(card),
        "Injector, cylinder 2", f"SER-{card.pk}", "Look for oil", "at 92,900 km (now 92,400)", "straight hose", "Tobin Marrow",
    ):  # fmt: skip
        assert said in text, said
    assert "Asked before, not now" in text


@pytest.mark.parametrize("count", [1, 6])
def test_it_asks_the_same_few_questions_however_long_the_book(company, as_mechanic, count):
    first = dairy_card()
    full(first)
    for _ in range(count - 1):
        full(another_card(first))
    shown(as_mechanic, first.vehicle)
    with CaptureQueriesContext(connection) as asked:
        shown(as_mechanic, first.vehicle)
    assert len(asked) <= 28, [query["sql"][:90] for query in asked]


def test_it_is_turned_page_by_page_and_nothing_is_twice_or_missing(company, as_mechanic):
    vehicle, now = dairy_card().vehicle, clock.now()
    Card.objects.bulk_create(Card(vehicle=vehicle, number=f"25-{n:04d}", opened_at=now - dt.timedelta(days=n // 3)) for n in range(1, 30))
    for n in range(0, 12, 3):
        with clock.frozen(now - dt.timedelta(days=n, hours=1)):
            vehicles.read_meter(TESTER, vehicle, "h", 1)
    seen, readings, place = [], [], ""
    while True:
        leaf = visits.leaf(vehicle, place)
        seen += [entry.card.pk for entry in leaf.entries if entry.card]
        readings += [entry.reading.pk for entry in leaf.entries if entry.reading]
        assert [entry.at for entry in leaf.entries] == sorted((entry.at for entry in leaf.entries), reverse=True)
        place = leaf.older
        if not place:
            break
    assert len(seen) == len(set(seen)) == 30
    assert len(readings) == len(set(readings)) == 4
    assert "Earlier visits" in shown(as_mechanic, vehicle)


@pytest.mark.parametrize("place", ["x", "~", "2026-01-01~1", HOSTILE, f"2026-01-01T00:00:00+00:00~{10**20}", "9999-12-31T23:59:59+00:00~1"])
def test_a_place_that_is_none_is_the_newest_page(company, as_mechanic, place):
    card = dairy_card()
    assert str(card) in shown(as_mechanic, card.vehicle, before=place)


def test_no_offset_and_no_scan(company):
    card = dairy_card()
    full(card)
    with CaptureQueriesContext(connection) as asked:
        visits.leaf(card.vehicle, f"{clock.now().isoformat()}~1")
        visits.declined_before(card.vehicle)
        carried(card)
    for query in [query["sql"] for query in asked]:
        assert "OFFSET" not in query
        if connection.vendor == "sqlite" and query.startswith("SELECT"):
            with connection.cursor() as cursor:
                cursor.execute("EXPLAIN QUERY PLAN " + query)
                plan = [row[3] for row in cursor.fetchall()]
            assert not [step for step in plan if step.startswith("SCAN ") and "SUBQUERY" not in step.upper()], (query, plan)


def test_hostile_text_is_inert(company, as_owner):
    name = '=HYPERLINK("http://x","y")'
    card = dairy_card(customer={"kind": "private", "name": name}, words=HOSTILE)
    jobs.add_note(TESTER, card, HOSTILE)
    inspections.add_finding(TESTER, card, place=HOSTILE[:60], words=HOSTILE, condition="act")
    pages = [
        reverse("book:vehicle", args=[card.vehicle_id]),
        reverse("book:party", args=[card.roles.get(kind="owner").party_id]),
        reverse("jobs:card", args=[card.pk]),
        reverse("today:desk"),
        reverse("book:corrections", args=[card.pk]),
    ]
    for address in pages:
        text = as_owner.get(address).content.decode()
        assert HOSTILE not in text, address
        assert "=HYPERLINK(&quot;http://x&quot;,&quot;y&quot;)" in text, address


def test_another_vehicles_things_are_not_in_it(company, as_mechanic):
    card = dairy_card()
    other = dairy_card(vehicle={"make": "Ostrel", "model": "Wander 28"}, words="Whistles.")
    pads(other)
    assert "Whistles" not in shown(as_mechanic, card.vehicle)


def details(client, vehicle, **typed):
    good = {"make": "Tolvar", "model": "Hodbearer 35", "plate": "vm 00 demo-9", "vin": "", "engine_code": ""}
    return client.post(reverse("book:vehicle_details", args=[vehicle.pk]), {**good, **typed})


def test_details_are_put_right_and_history_keeps_the_old(company, as_mechanic):
    vehicle = dairy_card().vehicle
    assert as_mechanic.get(reverse("book:vehicle_details", args=[vehicle.pk])).status_code == 200
    before = told()
    assert details(as_mechanic, vehicle).status_code == 302
    assert Vehicle.objects.get().plate == "VM 00 DEMO-9"
    assert kinds(before) == ["vehicles.changed"]
    assert "VM 00 DEMO-1" in Event.objects.get(kind="vehicles.changed").payload


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [({"make": ""}, "No make."), ({"model": "x" * 10_000}, "10,000 characters."), ({"plate": "x" * 21}, "21 characters.")],
)
def test_details_that_cannot_be_are_refused(company, as_mechanic, typed, sentence):
    vehicle, before = dairy_card().vehicle, told()
    answer = details(as_mechanic, vehicle, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert told() == before
    details(as_mechanic, vehicle)
    assert "stands there already" in details(as_mechanic, vehicle).content.decode()


def test_not_for_the_bookkeeper(company, as_bookkeeper):
    assert as_bookkeeper.get(reverse("book:vehicle", args=[dairy_card().vehicle_id])).status_code == 403


def test_what_sat_in_it_on_any_day(company, as_mechanic):
    card, day = dairy_card(), clock.today()
    with clock.frozen(clock.now() - dt.timedelta(days=30)):
        worksheets.fit_parts(TESTER, card, "Injector", [worksheets.PartIn("cylinder 2", "OLD-1")])
    worksheets.fit_parts(TESTER, card, "Injector", [worksheets.PartIn("cylinder 2", "NEW-1")])

    def sat(**more):
        return shown(as_mechanic, card.vehicle, **more).split("Fitted parts")[1].split("What was done")[0]

    assert "NEW-1" in sat()
    assert "OLD-1" not in sat()
    assert "OLD-1" in sat(on=str(day - dt.timedelta(days=1)))
    assert "NEW-1" not in sat(on=str(day - dt.timedelta(days=1)))
    assert "None is written down for that day." in sat(on=str(day - dt.timedelta(days=31)))


@pytest.mark.parametrize(
    ("on", "sentence"), [("", "No day."), ("yesterday", "Not a day."), (HOSTILE, "Not a day."), ("2026-13-01", "Not a day.")]
)
def test_a_day_that_is_none_gets_a_sentence_and_todays_parts(company, as_mechanic, on, sentence):
    card = dairy_card()
    worksheets.fit_parts(TESTER, card, "Injector", [worksheets.PartIn("cylinder 2", "NEW-1")])
    text = shown(as_mechanic, card.vehicle, on=on)
    assert sentence in text
    assert "NEW-1" in text


def test_what_waits_comes_back_on_the_next_card_without_one_more_question(company, as_mechanic, django_assert_num_queries):
    card = dairy_card()
    left(card)
    worksheets.add_follow_up(TESTER, card, worksheets.FollowUpIn("Look for oil", "new seal", due_on=clock.today()))
    worksheets.add_deviation(TESTER, card, makers_value="hose H-4", fitted_value="straight hose", reason="Gone.", agreed_by="Ilse")
    later = another_card(card)
    text = " ".join(as_mechanic.get(reverse("jobs:card", args=[later.pk])).content.decode().split())
    for said in (
        "To be looked at again",
        "Look for oil",
        "new seal",
        f"from card {card}",
        "Say what came of it",
        "Front pads",
        "straight hose</b> instead of hose H-4",
    ):
        assert said in text, said
    assert "To be looked at again" not in as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode()
    with django_assert_num_queries(1):
        asked_before(Context(), later, True, True)
