"""jobs:work, jobs:start, jobs:stop_work, jobs:spell: who works on which line from when to when."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, fill, kinds, seal_line, told
from workshop import clock
from workshop.history.actions import Actor
from workshop.jobs import actions, queries
from workshop.jobs.models import Card, Hold, Line, Spell

MOST_QUERIES = 12
EIGHT = dt.datetime(2026, 11, 25, 8, 0, tzinfo=dt.UTC)


def sheet(client, card):
    answer = client.get(reverse("jobs:work", args=[card.pk]))
    assert answer.status_code == 200
    return " ".join(answer.content.decode().split())


def press(client, button, thing, **typed):
    return client.post(reverse(button, args=[thing]), {"on": "work", **typed})


def refused(client, button, thing, sentence, *, status=409, **typed):
    before, spells = told(), list(Spell.objects.order_by("pk").values())
    answer = press(client, button, thing, **typed)
    assert answer.status_code == status
    assert sentence in answer.content.decode()
    assert (told(), list(Spell.objects.order_by("pk").values())) == (before, spells)
    return answer


def later(minutes):
    return clock.frozen(EIGHT + dt.timedelta(minutes=minutes))


def test_a_line_is_begun_left_for_another_and_stopped_each_in_one_tap(company, as_mechanic, mechanic):
    card = dairy_card()
    first, second = seal_line(card), seal_line(card, words="Mount")
    before = told()
    with later(0):
        press(as_mechanic, "jobs:start", first.uid)
    with later(25):
        assert press(as_mechanic, "jobs:start", second.uid).url == reverse("jobs:work", args=[card.pk])
    with later(40):
        press(as_mechanic, "jobs:stop_work", card.pk)
    assert kinds(before) == ["jobs.line_started", "jobs.spell_changed", "jobs.spell_stopped"]
    assert [(s.line_id, s.person_id, s.minutes(clock.now())) for s in Spell.objects.order_by("pk")] == [
        (first.pk, mechanic.pk, 25),
        (second.pk, mechanic.pk, 15),
    ]
    assert set(Line.objects.values_list("progress", flat=True)) == {"started"}


def test_the_sheet_counts_the_time_of_all_people_beside_the_reckoned(company, as_mechanic, mechanic, owner):
    line = seal_line(dairy_card())
    with later(0):
        actions.start_spell(TESTER, line, mechanic)
    with later(10):
        actions.start_spell(TESTER, line, owner)
    with later(30):
        text = sheet(as_mechanic, line.card)
    assert "50 min<br>" in text.replace("\N{NO-BREAK SPACE}", " ")
    assert "of 34 min" in text.replace("\N{NO-BREAK SPACE}", " ")
    assert "Pip since" in text
    assert "Ada since" in text


def test_done_stops_the_clocks_of_everybody_on_it(company, as_mechanic, mechanic, owner):
    line = seal_line(dairy_card())
    for person in (mechanic, owner):
        actions.start_spell(TESTER, line, person)
    press(as_mechanic, "jobs:finish", line.uid)
    assert not Spell.objects.filter(stopped_at=None).exists()
    refused(as_mechanic, "jobs:start", line.uid, "Line 1 is done already.")


def test_two_people_two_clocks_and_one_leaves_the_other_alone(company, as_mechanic, as_owner, mechanic, owner):
    card = dairy_card()
    line = seal_line(card)
    for client in (as_mechanic, as_owner):
        press(client, "jobs:start", line.uid)
    press(as_mechanic, "jobs:stop_work", card.pk)
    assert Spell.objects.get(stopped_at=None).person == owner


def test_the_card_and_a_run_sheet_tell_who_works_and_whether_it_is_left(company, as_mechanic, mechanic, owner):
    card = dairy_card()
    for minute, person in enumerate((mechanic, owner)):
        with later(minute):
            actions.start_spell(TESTER, seal_line(card), person)
    text = " ".join(as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode().split())
    assert "Pip since" in text
    assert "Ada since" in text
    told_of = {"at_work": queries.at_work("line__card"), "since": queries.since("line__card"), "left_at": queries.left("left_at")}
    found = Card.objects.annotate(**told_of).get(pk=card.pk)
    assert (found.at_work, found.since, found.left_at) == ("Pip, Ada", EIGHT, None)


def test_a_double_tap_begins_once_and_stops_once(company, as_mechanic):
    card = dairy_card()
    line, uid = seal_line(card), a_uid()
    before = told()
    for _ in range(3):
        press(as_mechanic, "jobs:start", line.uid, uid=uid)
    press(as_mechanic, "jobs:start", line.uid)
    for _ in range(3):
        assert press(as_mechanic, "jobs:stop_work", card.pk).status_code == 302
    press(as_mechanic, "jobs:start", line.uid, uid=uid)  # the page that was sent before, once more
    assert kinds(before) == ["jobs.line_started", "jobs.spell_stopped"]
    assert Spell.objects.get().stopped_at


def test_a_page_used_on_another_line_or_by_somebody_else_is_refused(company, as_mechanic, as_owner):
    card, uid = dairy_card(), a_uid()
    line, other = seal_line(card), seal_line(card)
    press(as_mechanic, "jobs:start", line.uid, uid=uid)
    refused(as_mechanic, "jobs:start", other.uid, "The page has lost its number.", uid=uid)
    refused(as_owner, "jobs:start", line.uid, "The page has lost its number.", uid=uid)


def test_the_clock_of_another_card_stops_and_this_one_says_so(company, as_mechanic, mechanic):
    there, here = seal_line(dairy_card()), seal_line(dairy_card())
    actions.start_spell(TESTER, there, mechanic)
    assert f'of card <a class="linkish" href="{reverse("jobs:work", args=[there.card_id])}"' in sheet(as_mechanic, here.card)
    press(as_mechanic, "jobs:start", here.uid)
    assert Spell.objects.get(line=there).stopped_at
    assert f"left line 1 of card {there.card} for line 1" in as_mechanic.get(reverse("jobs:card", args=[here.card_id])).content.decode()


def test_one_person_never_has_two_clocks_in_the_database_either(company, mechanic):
    card = dairy_card()
    first, second = seal_line(card), seal_line(card)
    actions.start_spell(TESTER, first, mechanic)
    with pytest.raises(IntegrityError), transaction.atomic():
        Spell.objects.create(line=second, person=mechanic, started_at=clock.now())


@pytest.mark.parametrize("state", ["closed", "cancelled"])
def test_a_card_that_is_over_takes_no_clock(company, as_mechanic, state):
    line = seal_line(dairy_card())
    Card.objects.filter(pk=line.card_id).update(state=state)
    refused(as_mechanic, "jobs:start", line.uid, "Take a new enquiry for new work.")


def test_what_holds_the_start_holds_the_clock_and_stands_on_the_line_it_stops(company, as_mechanic):
    line = seal_line(dairy_card(), critical=True)
    actions.write_hold(line.card, None, Hold.Stops.START, "Slope.", "inspections")
    answer = refused(as_mechanic, "jobs:start", line.uid, "Line 1 is held. Slope.")
    assert "Look at the place again" in answer.content.decode()
    assert "Tightening sheet" in sheet(as_mechanic, line.card)
    assert "Critical: each joint" in sheet(as_mechanic, line.card)


def test_a_place_refused_after_work_began_starts_no_clock_but_lets_the_line_end(company, as_mechanic, mechanic):
    line = seal_line(dairy_card())
    actions.start_spell(TESTER, line, mechanic)
    actions.stop_spell(TESTER, mechanic)
    actions.write_hold(line.card, None, Hold.Stops.START, "Slope.", "inspections")
    refused(as_mechanic, "jobs:start", line.uid, "Line 1 is held. Slope.")
    assert press(as_mechanic, "jobs:finish", line.uid).status_code == 302


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_has_a_clock(company, request, who, mechanic):
    line = seal_line(dairy_card())
    client, spell = request.getfixturevalue(who), actions.start_spell(TESTER, line, mechanic)
    for button, thing in (("jobs:start", line.uid), ("jobs:stop_work", line.card_id), ("jobs:spell", spell.uid)):
        assert press(client, button, thing).status_code == 403


def test_the_office_reads_the_sheet_and_has_no_button(company, as_office):
    text = sheet(as_office, seal_line(dairy_card()).card)
    assert "Rear crank seal" in text
    assert '<button class="btn' not in text


@pytest.mark.parametrize("count", [1, 40])
def test_it_asks_the_same_few_questions_however_much_is_on_it(company, as_mechanic, mechanic, count):
    card = dairy_card()
    fill(card, count)
    actions.write_answers(card, dict.fromkeys(card.lines.values_list("pk", flat=True), "accepted"))
    for line in card.lines.all():
        actions.start_spell(TESTER, line, mechanic)
    for step in card.steps.all():
        actions.open_step(TESTER, step, bags="1")
    with CaptureQueriesContext(connection) as asked:
        sheet(as_mechanic, card)
    assert len(asked) <= MOST_QUERIES, "\n".join(query["sql"][:120] for query in asked)


def test_hostile_words_stand_there_inert(company, as_mechanic, mechanic):
    card = dairy_card()
    step = actions.add_step(TESTER, card, words=HOSTILE, open_minutes=1, close_minutes=1)
    part = actions.PartIn(HOSTILE, Decimal("1.00"))
    line = seal_line(card, words=HOSTILE, parts=[part], steps=[step])
    line.parts.update(reuse="never", reuse_source=HOSTILE)
    actions.open_step(TESTER, step, bags=HOSTILE)
    spell = actions.start_spell(TESTER, line, mechanic)
    actions.correct_spell(TESTER, spell, by=mechanic, started_at=spell.started_at - dt.timedelta(hours=1), stopped_at=None, reason=HOSTILE)
    assert HOSTILE not in sheet(as_mechanic, card)
    assert HOSTILE not in as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode()


# The times put right


@pytest.fixture
def forgotten(company, mechanic):
    """A clock that began at 08:00 and was never stopped, looked at 13 hours later."""
    with later(0):
        spell = actions.start_spell(TESTER, seal_line(dairy_card()), mechanic)
    with later(13 * 60):
        yield spell


def typed(start="2026-11-25T08:00", stop="2026-11-25T12:00", reason="Forgot it at lunch."):
    return {"started_at": start, "stopped_at": stop, "reason": reason}


def test_a_clock_that_ran_for_half_a_day_says_so(forgotten, as_mechanic):
    assert "more than 12 h" in sheet(as_mechanic, forgotten.line.card)


def test_a_forgotten_clock_is_put_right_with_a_reason(forgotten, as_mechanic, settings):
    settings.TIME_ZONE = "UTC"
    before = told()
    assert press(as_mechanic, "jobs:spell", forgotten.uid, **typed()).status_code == 302
    forgotten.refresh_from_db()
    assert forgotten.minutes(clock.now()) == 240
    assert kinds(before) == ["jobs.spell_corrected"]
    press(as_mechanic, "jobs:spell", forgotten.uid, **typed())
    assert kinds(before) == ["jobs.spell_corrected"]
    assert "put right: Forgot it at lunch." in sheet(as_mechanic, forgotten.line.card)


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"reason": ""}, "No reason."),
        ({"reason": "x" * 201}, "201 characters."),
        ({"start": "2026-11-25T12:00", "stop": "2026-11-25T11:00"}, "It ends before it begins."),
        ({"stop": "2026-11-26T12:00"}, "That is still to come."),
        ({"start": "2026-11-23T08:00"}, "More than 24 hours."),
        ({"start": "", "stop": ""}, "No time. Write when work began."),
        ({"start": "yesterday"}, "That is no day and time."),
        ({"start": "0203-11-25T08:00"}, "more than 20 years off"),
        ({"start": "9999-12-31T23:59"}, "more than 20 years off"),
    ],
)
def test_times_that_cannot_be_are_refused_and_stay_in_the_boxes(forgotten, as_mechanic, settings, wrong, sentence):
    settings.TIME_ZONE = "UTC"
    sent = typed(**wrong)
    answer = refused(as_mechanic, "jobs:spell", forgotten.uid, sentence, status=422, **sent)
    for text in filter(None, sent.values()):
        assert text in answer.content.decode()


def test_somebody_elses_time_is_put_right_by_them_or_the_owner(forgotten, as_owner, client, settings):
    settings.TIME_ZONE = "UTC"
    other = type(forgotten.person).objects.create_user("wren", password="a password for tests", role="mechanic", first_name="Wren")
    client.force_login(other)
    refused(client, "jobs:spell", forgotten.uid, "This is the time of Pip Tansley-Vole.", status=422, **typed())
    assert press(as_owner, "jobs:spell", forgotten.uid, **typed()).status_code == 302


def test_one_person_is_not_in_two_places_and_a_stopped_clock_stays_stopped(forgotten, mechanic):
    noon = EIGHT + dt.timedelta(hours=4)
    actor = Actor.of(mechanic)
    actions.correct_spell(actor, forgotten, by=mechanic, started_at=EIGHT, stopped_at=noon, reason="lunch")
    second = actions.start_spell(actor, seal_line(forgotten.line.card), mechanic)
    with pytest.raises(actions.Refused, match="One person, one clock"):
        actions.correct_spell(actor, second, by=mechanic, started_at=EIGHT + dt.timedelta(hours=1), stopped_at=None, reason="no")
    with pytest.raises(actions.Refused, match="This clock was stopped"):
        actions.correct_spell(actor, forgotten, by=mechanic, started_at=EIGHT, stopped_at=None, reason="no")
