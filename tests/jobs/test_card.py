"""jobs:card, the job card."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, dairy_card, fill, seal_line
from workshop.jobs import actions, queries
from workshop.jobs.models import Line

MOST_QUERIES = 16


def page(client, card):
    return client.get(reverse("jobs:card", args=[card.pk]))


def shown(client, card):
    return " ".join(page(client, card).content.decode().split())


def test_it_tells_who_stands_where_and_the_words(company, as_mechanic):
    text = shown(as_mechanic, dairy_card())
    for said in ("VM 00 DEMO-1", "Races on the climb", "Tobin Marrow", "Ilse Brackwater", "up to 2,000.00", "Churnholt Valley Dairy"):
        assert said in text


def test_shared_access_is_one_dashed_box_and_the_total_counts_it_once(company, as_mechanic):
    """The worked table of belt kit and pump: together 842.70 net, 1,028.09 with 22 % tax; own exact arithmetic, no published source."""
    card = dairy_card()

    def step(words, minutes, needs, **more):
        return actions.add_step(TESTER, card, words=words, open_minutes=minutes[0], close_minutes=minutes[1], needs=needs, **more)

    tray = step("Tray", (12, 12), [])
    drain = step("Coolant drained", (15, 30), [tray], material_words="coolant", material_amount=Decimal("46.20"))
    belt = step("Drive belt", (25, 25), [tray])
    cover = step("Front cover", (35, 40), [belt], material_words="gasket", material_amount=Decimal("38.00"))
    timing = step("Timing belt off", (20, 35), [cover])
    seal_line(card, words="Belt kit", own_minutes=18, parts=[actions.PartIn("Kit", Decimal("214.00"))], steps=[timing])
    seal_line(card, words="Coolant pump", own_minutes=36, parts=[actions.PartIn("Pump", Decimal("150.60"))], steps=[timing, drain])
    text = shown(as_mechanic, card)
    assert '<span class="no share">1+2</span>' in text
    assert '<span class="no share">2</span>' in text
    assert "1,028.09" in text
    assert "842.70" in text


def test_a_line_of_words_and_a_price_is_a_whole_line(company, as_mechanic):
    card = dairy_card()
    actions.add_line(TESTER, card, kind="wanted", words="Wash", fixed_amount=Decimal("20.00"))
    assert "24.40" in shown(as_mechanic, card)


@pytest.mark.parametrize("count", [1, 20])
def test_it_asks_the_same_few_questions_however_much_is_on_it(company, as_mechanic, count):
    card = dairy_card()
    fill(card, count)
    with CaptureQueriesContext(connection) as asked:
        assert page(as_mechanic, card).status_code == 200
    assert len(asked) <= MOST_QUERIES, "\n".join(query["sql"][:120] for query in asked)


def test_what_was_typed_stands_there_inert(company, as_mechanic):
    card = dairy_card(words=HOSTILE, place=HOSTILE)
    actions.add_note(TESTER, card, HOSTILE)
    assert HOSTILE not in shown(as_mechanic, card)
    assert "&lt;script&gt;" in shown(as_mechanic, card)


def test_do_not_drive_stands_on_top(company, as_mechanic):
    card = dairy_card()
    actions.set_advice(TESTER, card, "do_not", "Clutch slips.")
    assert "Do not drive. Clutch slips." in shown(as_mechanic, card)


def test_the_work_of_accepted_lines_is_on_the_work_sheet(company, as_mechanic):
    card = dairy_card()
    draft = seal_line(card, accepted=False)
    assert "New line" in shown(as_mechanic, card).split('class="bar"')[-1]
    actions.write_answers(card, {draft.pk: Line.Answer.ACCEPTED})
    text = shown(as_mechanic, card)
    assert f'<a class="btn do" href="/m/card/{card.pk}/work-sheet/">Work</a>' in text
    assert f"/m/line/{draft.uid}/finish/" not in text


def test_without_an_hourly_rate_it_says_so_and_still_shows_the_lines(db, as_mechanic):
    card = dairy_card()
    seal_line(card)
    text = shown(as_mechanic, card)
    assert "No hourly rate" in text
    assert "Rear crank seal" in text


def test_the_office_reads_and_has_no_button_of_the_work(company, as_office):
    card = dairy_card()
    line = seal_line(card)
    text = shown(as_office, card)
    assert "Rear crank seal" in text
    assert f"/m/line/{line.uid}/start/" not in text
    assert "Save note" not in text


def test_the_bookkeeper_gets_a_calm_403(company, as_bookkeeper):
    assert page(as_bookkeeper, dairy_card()).status_code == 403


def test_a_card_that_is_not_there_is_a_404(company, as_mechanic):
    assert as_mechanic.get(reverse("jobs:card", args=[987654321])).status_code == 404


@pytest.mark.parametrize(
    ("lines", "box"), [((1,), "1"), ((1, 2), "1+2"), ((2, 3, 4), "2–4"), ((1, 3), "1+3"), ((1, 3, 6), "+"), ((10, 12), "+")]
)
def test_the_dashed_box_names_its_lines_as_far_as_they_fit(lines, box):
    access = queries.SharedAccess(lines, ("Tray",), 24, Decimal("31.20"))
    assert access.users == box
    assert access.all_users == "+".join(map(str, lines))
