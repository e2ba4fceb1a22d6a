"""book:search, one box for plate, name, telephone, card, invoice and vehicle number."""

import uuid

import pytest
from django.core.management import call_command
from django.db import OperationalError, connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.invoices.making import ready_card
from tests.jobs.cards import HOSTILE, TESTER, dairy_card
from workshop.book import actions
from workshop.book.actions import index
from workshop.book.models import Mark, SearchWord
from workshop.book.queries import search, words
from workshop.customers.models import Party
from workshop.invoices import actions as invoices
from workshop.jobs.models import Card
from workshop.vehicles import actions as vehicles
from workshop.vehicles.forms import read_file
from workshop.vehicles.models import Vehicle

LINK = '=HYPERLINK("http://x","y")'


def page(client, typed):
    return client.get(reverse("book:search"), {"q": typed})


def text(client, typed):
    return " ".join(page(client, typed).content.decode().split())


def kinds_found(typed):
    actions.catch_up()
    found = search.find(typed)
    return [kind for kind in ("vehicles", "parties", "cards", "documents") if getattr(found, kind)]


@pytest.mark.parametrize(
    ("typed", "kinds"),
    [
        ("VM 00 DEMO-1", ["vehicles"]),
        ("vm00demo1", ["vehicles"]),
        ("demo-1", ["vehicles"]),
        ("DEMCTLVR350000117", ["vehicles"]),
        ("50000117", ["vehicles"]),  # the end of the vehicle number
        ("hodbearer 35", ["vehicles"]),
        ("churnholt", ["parties"]),
        ("valley dairy", ["parties"]),
        ("DAIRY churn", ["parties"]),
        ("marrow tobin", ["parties"]),
        ("+999 555 010 123", ["parties"]),
        ("010 123", ["parties"]),
        ("0555010123", ["parties"]),  # as it is dialled at home
        ("churnholt plumtree", []),
        ("%", []),
        ("_", []),
        ("", []),
        ("    ", []),
        ("' OR 1=1 --", []),
    ],
)
def test_what_people_remember_finds_it(company, typed, kinds):
    dairy_card()
    assert kinds_found(typed) == kinds


def test_card_and_invoice_by_number(company):
    card = ready_card()
    document = invoices.issue_invoice(TESTER, card, request_uid=uuid.uuid4())
    assert "cards" in kinds_found(str(card))
    assert "documents" in kinds_found(document.number)
    assert "documents" in kinds_found(document.number.split("-")[-1].lstrip("0"))


def test_letters_with_and_without_accents_are_one(company):
    dairy_card(customer={"kind": "private", "name": "Åsa Straßner-Éclair"})
    assert kinds_found("asa strassner") == ["parties"]
    assert kinds_found("ÉCLAIR") == ["parties"]


def test_the_page_groups_and_leads_on(company, as_mechanic):
    card = dairy_card()
    shown = text(as_mechanic, "demo-1")
    assert reverse("book:vehicle", args=[card.vehicle_id]) in shown
    assert "Vehicles" in shown
    assert "1 found" in shown
    assert reverse("jobs:card", args=[card.pk]) in text(as_mechanic, str(card))
    assert "Nothing carries “gibberish”" in text(as_mechanic, "gibberish")
    assert as_mechanic.get(reverse("book:search")).status_code == 200


def test_what_is_changed_is_found_by_the_new_and_no_more_by_the_old(company, as_mechanic):
    card = dairy_card()
    assert kinds_found("demo-1") == ["vehicles"]
    vehicles.change_vehicle(TESTER, card.vehicle, plate="VM 00 DEMO-7")
    assert kinds_found("demo-1") == []
    assert kinds_found("demo-7") == ["vehicles"]


def test_the_index_reads_on_from_the_last_line_it_has_seen(company):
    dairy_card()
    assert actions.catch_up() is True
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert actions.catch_up() is True
    assert len(asked) == 2
    assert all(query["sql"].startswith("SELECT") for query in asked)
    dairy_card()
    assert actions.catch_up(most=1) is True


def test_a_long_history_is_caught_up_in_steps(company):
    for _ in range(3):
        dairy_card()
    assert actions.catch_up(most=2) is False
    while not actions.catch_up(most=2):
        pass
    assert SearchWord.objects.filter(kind="card").values("ref").distinct().count() == 3


def test_while_the_records_cannot_be_written_the_search_goes_on(company, as_mechanic, monkeypatch):
    dairy_card()
    actions.catch_up()
    dairy_card(customer={"kind": "private", "name": "Late Comer"})

    def locked(_most):
        raise OperationalError("database is locked")

    monkeypatch.setattr(index, "_step", locked)
    shown = text(as_mechanic, "churnholt")
    assert "Churnholt Valley Dairy" in shown
    assert "last moments may be missing" in shown


def test_rebuilding_gives_the_same_words(company):
    card = ready_card()
    invoices.issue_invoice(TESTER, card, request_uid=uuid.uuid4())
    dairy_card()
    actions.catch_up()
    before = set(SearchWord.objects.values_list("word", "kind", "ref"))
    call_command("search_index", "--rebuild")
    assert set(SearchWord.objects.values_list("word", "kind", "ref")) == before
    call_command("search_index")
    assert Mark.objects.count() == 1


def test_hostile_text_is_found_and_inert(company, as_owner):
    dairy_card(customer={"kind": "private", "name": LINK, "phone": "1"}, words=HOSTILE)
    for typed in ("hyperlink", LINK, HOSTILE, "\x00", "x" * 10_000, "\U0010ffff", "ﬃ"):
        answer = page(as_owner, typed)
        assert answer.status_code == 200
        assert HOSTILE not in answer.content.decode()
    assert "=HYPERLINK(&quot;http://x&quot;" in text(as_owner, "hyperlink")


def test_at_most_fifty_and_it_says_that_there_is_more(company, as_owner):
    Party.objects.bulk_create(Party(name=f"Common {n}") for n in range(600))
    actions.rebuild()
    found = search.find("common")
    assert found.count <= 50
    assert found.more
    assert "There is more than is shown" in text(as_owner, "common")
    assert [party.name for party in search.find("common 599").parties] == ["Common 599"]


def stock(rows):
    """So many vehicles, customers and cards more."""
    start = Vehicle.objects.count()
    made = Vehicle.objects.bulk_create(
        Vehicle(make="Ostrel", model="Wander", plate=f"VM {start + n:05d} Q", vin=f"DEMV{start + n:013d}") for n in range(rows)
    )
    Party.objects.bulk_create(Party(name=f"Person{start + n:05d} Family{n % 97}") for n in range(rows))
    from workshop import clock

    Card.objects.bulk_create(Card(vehicle=one, number=f"25-{start + n:05d}", opened_at=clock.now()) for n, one in enumerate(made))
    actions.rebuild()


def steps(ask):
    """How many instructions SQLite's machine takes (sqlite.org/c3ref/progress_handler.html: counted one by one)."""
    counted = [0]

    def one():
        counted[0] += 1
        return 0

    raw = connection.connection
    raw.set_progress_handler(one, 1)
    try:
        ask()
    finally:
        raw.set_progress_handler(None, 1)
    return counted[0]


TYPED = ("churnholt", "demo-1", "999555010123", "valley dairy", "person00017", "wander vm00017q")
MANY = ("0", "family", "010 123", "ostrel wander")  # beginnings that thousands of words have


@pytest.mark.slow
def test_the_work_does_not_grow_with_the_records(company):
    dairy_card()
    stock(200)
    few = {typed: _work(typed) for typed in TYPED}
    stock(4_800)
    assert Card.objects.count() == 5_001
    for typed in TYPED:
        queries, took = _work(typed)
        assert queries == few[typed][0] <= 10, typed
        assert took is None or took <= few[typed][1] * 1.05 + 20, (typed, few[typed], took)
    for typed in MANY:
        queries, took = _work(typed)
        assert queries <= 12
        assert took is None or took < 60_000, (typed, took)  # what 500 words cost, however many there are


def _work(typed):
    search.find(typed)
    with CaptureQueriesContext(connection) as asked:
        search.find(typed)
    return len(asked), steps(lambda: search.find(typed)) if connection.vendor == "sqlite" else None


def test_no_table_is_read_from_end_to_end(company):
    """EXPLAIN names a scan of a table; the index alone is searched."""
    dairy_card()
    stock(300)
    with CaptureQueriesContext(connection) as asked:
        search.find("valley dairy")
        search.find("churnholt")
    for query in [query["sql"] for query in asked]:
        if connection.vendor == "sqlite":
            with connection.cursor() as cursor:
                cursor.execute("EXPLAIN QUERY PLAN " + query)
                plan = " ".join(row[3] for row in cursor.fetchall())
            assert "SCAN book" not in plan, plan
            assert "SCAN customers" not in plan, plan
            assert "SCAN vehicles" not in plan, plan


@pytest.mark.parametrize(
    ("word", "least", "endings"), [("demo1", 2, {"demo1", "emo1", "mo1", "o1"}), ("ab", 4, {"ab"}), ("", 2, set()), ("abcd", 4, {"abcd"})]
)
def test_endings(word, least, endings):
    assert words.endings(word, least) == endings


def test_not_for_the_bookkeeper(company, as_bookkeeper):
    assert page(as_bookkeeper, "x").status_code == 403


def test_what_came_from_a_file_is_found(company, as_owner):
    rows = "name;phone;make;model;plate\nMabel Thistle;+999 555 010 140;Ostrel;Cart;VM 00 DEMO-9\n"
    taken, faults = read_file(rows.encode())
    assert not faults
    vehicles.take_in(TESTER, taken, "old book.csv")
    assert "Mabel Thistle" in text(as_owner, "thistle")
    assert "VM 00 DEMO-9" in text(as_owner, "demo-9")
