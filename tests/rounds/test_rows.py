"""rounds:rows, rounds:list_row and the buttons of the list: rounds:take, rounds:move, rounds:retire, rounds:restore, rounds:grow."""

import json
import re
from pathlib import Path

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, told
from tests.rounds.walks import at_most, begun, long_list
from workshop.inspections import actions as inspections
from workshop.inspections.models import Finding
from workshop.jobs.actions import Refused
from workshop.rounds import actions, queries
from workshop.rounds.models import RoundRow, Row

GOOD = {"system": "Brakes", "words": "Brake servo", "look_for": "hiss", "unit": "", "limit_words": "", "limit_source": ""}
LIST = "/walk-round/"


@pytest.fixture
def usual(company):
    return actions.take_usual(TESTER)


def added(client, **typed):
    return client.post(reverse("rounds:rows"), {**GOOD, "uid": a_uid(), **typed})


def changed(client, row, **typed):
    shown = {name: getattr(row, name) for name in queries.COPIED}
    return client.post(reverse("rounds:list_row", args=[row.uid]), {**shown, "uid": row.uid, "seen": queries.seen_of(row), **typed})


def pressed(client, button, row, **more):
    return client.post(reverse(f"rounds:{button}", args=[row.uid]), more)


def order():
    return [row.words for _, group in queries.by_system(queries.listed()) for row in group]


def page(client):
    return client.get(LIST).content.decode()


def test_the_usual_list_is_taken_once(company, as_mechanic):
    before = told()
    assert "Take the usual list" in page(as_mechanic)
    for _ in range(2):
        assert as_mechanic.post(reverse("rounds:take")).status_code == 302
    assert Row.objects.count() == len(queries.usual())
    assert kinds(before) == ["rounds.usual_taken"]
    assert "Take the usual list" not in page(as_mechanic)


def test_the_usual_list_is_not_poured_over_one_of_ones_own(company, as_mechanic):
    added(as_mechanic)
    answer = as_mechanic.post(reverse("rounds:take"))
    assert answer.status_code == 409 and "has rows already" in answer.content.decode()
    assert order() == ["Brake servo"]


def test_the_usual_list_says_that_it_has_no_source_and_names_no_limit():
    """Common practice, no source: a number to work to would need one."""
    fixture = json.loads((Path(__file__).parents[2] / "fixtures" / "walk_round.json").read_text(encoding="utf-8"))
    assert "Common practice, no source" in fixture["about"]
    assert not [row for row in fixture["rows"] if re.search(r"\d", " ".join(row.values())) or "limit_words" in row]
    assert 28 <= len(fixture["rows"]) <= 32
    assert len({row["system"] for row in fixture["rows"]}) == 10


def test_a_row_more_stands_at_the_end_of_its_system(usual, as_mechanic):
    before = told()
    assert added(as_mechanic).status_code == 302
    brakes = [row.words for row in dict(queries.by_system(queries.listed()))["Brakes"]]
    assert brakes[-1] == "Brake servo"
    assert kinds(before) == ["rounds.row_added"]


def test_the_same_page_sent_twice_is_one_row(usual, as_mechanic):
    uid, before = a_uid(), told()
    added(as_mechanic, uid=uid)
    added(as_mechanic, uid=uid)
    assert Row.objects.filter(words="Brake servo").count() == 1
    assert kinds(before) == ["rounds.row_added"]


REFUSED = {
    "no system": ({"system": ""}, "No system"),
    "nothing to look at": ({"words": "  "}, "Nothing to look at"),
    "a limit without source": ({"limit_words": "at least 3 mm"}, "A limit has a source"),
    "a source without limit": ({"limit_source": "maker"}, "A source of which limit"),
    "too long": ({"words": "x" * 10_000}, "10,000 characters"),
    "no paper prints it": ({"words": "a\x00b"}, "no paper can print"),
    "turned": ({"look_for": "a\u202eb"}, "no paper can print"),
    "no number of the page": ({"uid": "1"}, "has lost its number"),
}


@pytest.mark.parametrize("typed, sentence", REFUSED.values(), ids=REFUSED)
def test_what_is_refused_keeps_what_was_typed(usual, as_mechanic, typed, sentence):
    before = told()
    answer = added(as_mechanic, **{"look_for": "hiss at idle", **typed})
    text = answer.content.decode()
    assert answer.status_code == 422 and sentence in text
    assert "Brake servo" in text or "words" in typed
    assert (Row.objects.count(), told()) == (len(usual), before)


@pytest.mark.parametrize("words", [HOSTILE, '=HYPERLINK("x")'])
def test_hostile_words_are_only_words(usual, as_mechanic, words):
    assert added(as_mechanic, words=words, look_for=words, system=words).status_code == 302
    assert HOSTILE not in page(as_mechanic)


def test_the_database_itself_keeps_no_limit_without_a_source(company):
    with pytest.raises(IntegrityError), transaction.atomic():
        Row.objects.create(system="Brakes", words="Pads", limit_words="3 mm", position=1)


def test_a_changed_row_leaves_walks_alone_that_have_begun(usual, as_mechanic):
    walk, before = begun(), told()
    assert changed(as_mechanic, usual[0], words="Tread depth, all wheels").status_code == 302
    assert walk.rows.get(position=1).words == usual[0].words
    assert order()[0] == "Tread depth, all wheels"
    assert kinds(before) == ["rounds.row_changed"]


def test_a_row_that_is_saved_as_it_was_is_not_told(usual, as_mechanic):
    before = told()
    assert changed(as_mechanic, usual[0]).status_code == 302
    assert kinds(before) == []


def test_two_people_change_one_row(usual, as_mechanic, as_owner):
    first = usual[0]
    changed(as_owner, first, words="By the owner")
    answer = changed(as_mechanic, first, words="By the mechanic")
    assert answer.status_code == 409 and "Somebody changed this row" in answer.content.decode()
    assert "By the mechanic" in answer.content.decode()
    assert order()[0] == "By the owner"


def test_a_row_that_was_taken_out_is_not_changed(usual, as_mechanic):
    pressed(as_mechanic, "retire", usual[0])
    assert changed(as_mechanic, usual[0], words="Other").status_code == 409


def test_up_and_down_in_the_system_and_with_the_system(usual, as_mechanic):
    """Worked out by hand: rows 2 and 1 of the first system change places; then the second system, whole, goes before the first."""
    names, before = order(), told()
    pressed(as_mechanic, "move", usual[1], way="up", seen=2)
    assert order() == [names[1], names[0], *names[2:]]
    pressed(as_mechanic, "move", usual[5], way="up", seen=6)
    assert order()[:5] == names[5:10] and order()[5:7] == [names[1], names[0]]
    assert kinds(before) == ["rounds.row_moved"] * 2


MOVES = {
    "off the top": (0, "up", 1, "first row"),
    "off the bottom": (-1, "down", 31, "last row"),
    "an old page": (1, "up", 7, "The order changed"),
    "nowhere": (1, "sideways", 2, "moves up or down"),
    "no place": (1, "up", "1e9", "The order changed"),
}


@pytest.mark.parametrize("place, way, seen, sentence", MOVES.values(), ids=MOVES)
def test_a_move_that_is_refused(usual, as_mechanic, place, way, seen, sentence):
    names, before = order(), told()
    answer = pressed(as_mechanic, "move", usual[place], way=way, seen=seen)
    assert answer.status_code == 409 and sentence in answer.content.decode()
    assert (order(), told()) == (names, before)


def test_a_second_tap_moves_nothing(usual, as_mechanic):
    pressed(as_mechanic, "move", usual[1], way="up", seen=2)
    assert pressed(as_mechanic, "move", usual[1], way="up", seen=2).status_code == 409


def test_taken_off_and_put_back_each_once(usual, as_mechanic):
    before = told()
    for button in ("retire", "retire", "restore", "restore"):
        assert pressed(as_mechanic, button, usual[0]).status_code == 302
    assert kinds(before) == ["rounds.row_retired", "rounds.row_restored"]
    assert usual[0].words in order()


def test_a_row_off_the_list_is_on_no_later_walk(usual, as_mechanic):
    pressed(as_mechanic, "retire", usual[0])
    assert not begun().rows.filter(words=usual[0].words).exists()
    assert "Taken out" in page(as_mechanic)


def test_a_finding_grows_one_row_and_opens_it(usual, as_mechanic):
    card = dairy_card()
    told_as = {"measured": None, "unit": "mm", "limit_words": "at least 3.0 mm", "limit_source": "maker's manual, DEMO, p. 3-18"}
    finding = inspections.add_finding(TESTER, card, place="Brakes", words="Pad carrier seized", condition="act", **told_as)
    before = told()
    for _ in range(2):
        answer = as_mechanic.post(reverse("rounds:grow", args=[finding.uid]))
        row = Row.objects.get(grown_from=finding)
        assert answer.headers["Location"] == reverse("rounds:list_row", args=[row.uid])
    assert (row.system, row.words, row.limit_source) == ("Brakes", "Pad carrier seized", told_as["limit_source"])
    assert kinds(before) == ["rounds.row_grown"]
    assert dict(queries.by_system(queries.listed()))["Brakes"][-1] == row


def test_a_full_list_says_so(company, as_mechanic):
    long_list(300)
    answer = added(as_mechanic)
    assert answer.status_code == 409 and "300 rows" in answer.content.decode()
    with pytest.raises(Refused):
        actions.grow_row(TESTER, inspections.add_finding(TESTER, dairy_card(), place="Cab", words="Worn", condition="act"))


def test_the_office_reads_and_does_not_write(usual, as_office):
    text = page(as_office)
    assert usual[0].words in text and "Put on the list" not in text and "Move or take out" not in text
    assert added(as_office).status_code == 403
    assert Row.objects.count() == len(usual)


@pytest.mark.parametrize("count", [1, 300])
def test_the_list_asks_the_same_few_questions(company, as_mechanic, count):
    long_list(count)
    with at_most(8):
        assert as_mechanic.get(LIST).status_code == 200


def test_states_of_a_row_are_conditions_of_a_finding():

    assert set(RoundRow.State.values) == set(Finding.Condition.values)
