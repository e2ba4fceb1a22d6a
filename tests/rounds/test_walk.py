"""rounds:walk and its buttons: rounds:begin, rounds:judge, rounds:rest, rounds:end."""

import pytest
from django.db import IntegrityError, transaction
from django.template import Context, Template
from django.urls import reverse

from tests.jobs.cards import TESTER, a_uid, dairy_card, kinds, told
from tests.rounds.walks import at_most, begun, long_list
from workshop.jobs.models import Card, Leaving
from workshop.rounds import actions
from workshop.rounds.models import Round, Row

HTMX = {"HX-Request": "true"}
MOST_QUERIES = 8
MOST_BYTES = 1500


@pytest.fixture
def walk(company):
    return begun()


def sheet(client, card, **asked):
    return client.get(reverse("rounds:walk", args=[card.pk]), asked).content.decode()


def tap(client, row, state="good", **more):
    return client.post(reverse("rounds:judge", args=[row.pk]), {"state": state}, **more)


def ended(client, walk):
    return client.post(reverse("rounds:end", args=[walk.uid]))


def states(walk):
    return list(walk.rows.order_by("position").values_list("state", flat=True))


def test_begun_once_however_often_it_is_pressed(company, as_mechanic):
    card = dairy_card()
    actions.take_usual(TESTER)
    before = told()
    assert "Begin the walk-round" in sheet(as_mechanic, card)
    for _ in range(2):
        answer = as_mechanic.post(reverse("rounds:begin", args=[card.pk]))
        assert answer.headers["Location"] == reverse("rounds:walk", args=[card.pk])
    assert Round.objects.get().rows.count() == Row.objects.count()
    assert kinds(before) == ["rounds.begun"]
    assert set(states(Round.objects.get())) == {"unseen"}


def test_without_a_list_there_is_nothing_to_begin(company, as_mechanic):
    answer = as_mechanic.post(reverse("rounds:begin", args=[dairy_card().pk]))
    assert answer.status_code == 409 and "The walk-round list is empty" in answer.content.decode()


def test_two_phones_cannot_begin_two(walk):
    """The database itself keeps one open walk-round a card."""
    with pytest.raises(IntegrityError), transaction.atomic():
        Round.objects.create(card=walk.card, by="Ada", begun_at=walk.begun_at)


def test_good_in_one_tap_without_script(walk, as_mechanic):
    row, before = walk.rows.get(position=7), told()
    answer = tap(as_mechanic, row)
    assert answer.headers["Location"] == f"{reverse('rounds:walk', args=[walk.card_id])}#row-{row.pk}"
    row.refresh_from_db()
    assert (row.state, row.by) == ("good", "Pip Tansley-Vole") and row.at
    assert kinds(before) == ["rounds.judged"]


def test_good_in_one_tap_is_one_small_piece(walk, as_mechanic):
    for row in walk.rows.all():
        answer = tap(as_mechanic, row, headers=HTMX)
        assert answer.status_code == 200 and len(answer.content) < MOST_BYTES, len(answer.content)
    assert f"{walk.rows.count()} of {walk.rows.count()} looked at</span>" in answer.content.decode()


def test_the_longest_row_is_a_small_piece_too(walk, as_mechanic):
    """A row nobody looked at shows most: three buttons. With the words of the usual list it stays under 1.5 kB."""
    for row in walk.rows.all():
        tap(as_mechanic, row)
        assert len(tap(as_mechanic, row, "unseen", headers=HTMX).content) < MOST_BYTES


def test_the_piece_counts_what_is_left(walk, as_mechanic):
    total = walk.rows.count()
    text = tap(as_mechanic, walk.rows.first(), headers=HTMX).content.decode()
    assert f"1 of {total} looked at, {total - 1} not" in text
    text = tap(as_mechanic, walk.rows.first(), "unseen", headers=HTMX).content.decode()
    assert f"0 of {total} looked at, {total} not" in text


def test_a_double_tap_is_told_once(walk, as_mechanic):
    before = told()
    for _ in range(2):
        assert tap(as_mechanic, walk.rows.first(), headers=HTMX).status_code == 200
    assert kinds(before) == ["rounds.judged"]


def test_where_good_was_nothing_takes_it_back(walk, as_mechanic):
    """A wet finger taps twice: what takes back stands at the left, Good at the right."""
    text = tap(as_mechanic, walk.rows.first(), headers=HTMX).content.decode()
    assert text.index("Take back") < text.index("#good") < text.index("looked at")


def test_not_applicable_and_back(walk, as_mechanic):
    row, before = walk.rows.first(), told()
    tap(as_mechanic, row, "na")
    tap(as_mechanic, row, "unseen")
    row.refresh_from_db()
    assert (row.state, row.by, row.at) == ("unseen", "", None)
    assert kinds(before) == ["rounds.judged"] * 2


@pytest.mark.parametrize("state", ["act", "stop", "watch", "", "perfect", "good' or 1=1"])
def test_what_is_not_good_is_written_down(walk, as_mechanic, state):
    before = told()
    answer = tap(as_mechanic, walk.rows.first(), state, headers=HTMX)
    assert answer.status_code == 409 and "written down: open the row" in answer.content.decode()
    assert (set(states(walk)), told()) == ({"unseen"}, before)


def test_the_rest_of_a_system_leaves_what_was_judged(walk, as_mechanic):
    brakes, before = walk.rows.filter(system="Brakes"), told()
    tap(as_mechanic, brakes.first(), "na")
    for _ in range(2):
        assert as_mechanic.post(reverse("rounds:rest", args=[walk.uid]), {"system": "Brakes"}).status_code == 302
    assert [row.state for row in brakes.order_by("position")] == ["na", *["good"] * (brakes.count() - 1)]
    assert not walk.rows.exclude(system="Brakes").exclude(state="unseen").exists()
    assert kinds(before) == ["rounds.judged", "rounds.rest_good"]


def test_a_system_that_is_not_there_changes_nothing(walk, as_mechanic):
    before = told()
    assert as_mechanic.post(reverse("rounds:rest", args=[walk.uid]), {"system": "' or 1=1 --"}).status_code == 302
    assert (set(states(walk)), told()) == ({"unseen"}, before)


def test_ending_says_what_nobody_looked_at(walk, as_mechanic):
    for row in walk.rows.order_by("position")[3:]:
        actions.judge_row(TESTER, row, "good")
    before = told()
    answer = as_mechanic.post(reverse("rounds:end", args=[walk.uid]), follow=True)
    assert "3 not looked at: they stay so." in answer.content.decode()
    assert f"{walk.rows.count() - 3} of {walk.rows.count()} looked at, 3 not" in answer.content.decode()
    ended(as_mechanic, walk)
    assert kinds(before) == ["rounds.ended"]


def test_after_the_end_nothing_is_tapped_and_another_can_begin(walk, as_mechanic):
    ended(as_mechanic, walk)
    row, before = walk.rows.first(), told()
    for answer in (
        tap(as_mechanic, row),
        tap(as_mechanic, row, headers=HTMX),
        as_mechanic.post(reverse("rounds:rest", args=[walk.uid]), {"system": row.system}),
    ):
        assert answer.status_code == 409 and "This walk-round ended on" in answer.content.decode()
    assert (set(states(walk)), told()) == ({"unseen"}, before)
    assert "Begin another walk-round" in sheet(as_mechanic, walk.card)
    as_mechanic.post(reverse("rounds:begin", args=[walk.card_id]))
    assert Round.objects.count() == 2
    assert "going on" not in sheet(as_mechanic, walk.card, walk=str(walk.uid)).split("On this card")[0]


@pytest.mark.parametrize("state", ["closed", "cancelled"])
def test_a_card_that_is_over_is_walked_no_more(walk, as_mechanic, state):
    Card.objects.filter(pk=walk.card_id).update(state=state)
    row, before = walk.rows.first(), told()
    for answer in (
        tap(as_mechanic, row),
        tap(as_mechanic, row, headers=HTMX),
        ended(as_mechanic, walk),
        as_mechanic.post(reverse("rounds:rest", args=[walk.uid]), {"system": row.system}),
        as_mechanic.post(reverse("rounds:begin", args=[walk.card_id])),
    ):
        assert answer.status_code == 409 and "Take a new enquiry" in answer.content.decode()
    assert (set(states(walk)), told()) == ({"unseen"}, before)
    assert "Begin" not in sheet(as_mechanic, walk.card).replace("Begun", "")


def test_a_vehicle_that_was_left_may_be_walked_round(walk, as_mechanic):
    left = {"state": "open", "supports": "stands", "keys": "hook", "told": "Ilse", "left_by": "Ada"}
    Leaving.objects.create(card=walk.card, left_at=walk.begun_at, **left)
    assert tap(as_mechanic, walk.rows.first()).status_code == 302


def test_a_row_that_is_written_down_is_not_tapped_good(walk, as_mechanic):
    row = walk.rows.first()
    actions.write_down(TESTER, row, uid=a_uid(), words="Worn to the cords", condition="stop")
    answer = tap(as_mechanic, row, headers=HTMX)
    assert answer.status_code == 409 and "Worn to the cords" in answer.content.decode()
    tap(as_mechanic, row, "unseen")
    row.refresh_from_db()
    assert (row.state, row.finding) == ("unseen", None)
    assert walk.card.findings.get().words == "Worn to the cords", "the finding stays on the card"


def test_the_office_reads(walk, as_office, as_bookkeeper):
    text = sheet(as_office, walk.card)
    assert "not looked at" in text and ">Good<" not in text and "End the walk-round" not in text
    assert tap(as_office, walk.rows.first()).status_code == 403
    assert as_bookkeeper.get(reverse("rounds:walk", args=[walk.card_id])).status_code == 403


@pytest.mark.parametrize("count", [30, 300])
def test_the_sheet_and_a_tap_ask_the_same_few_questions(company, as_mechanic, count):
    long_list(count)
    walk = begun()
    with at_most(MOST_QUERIES):
        assert sheet(as_mechanic, walk.card).count(">Good<") == count
    row = walk.rows.last()
    with at_most(MOST_QUERIES):
        assert tap(as_mechanic, row, headers=HTMX).status_code == 200


def test_what_a_card_shows_of_it_is_one_question(walk, django_assert_num_queries):
    shown = Template("{% load rounds_pieces %}{% round_of card as walk %}{{ walk.looked }} of {{ walk.total }}, {{ walk.unseen }}")
    actions.judge_row(TESTER, walk.rows.first(), "good")
    total = walk.rows.count()
    with django_assert_num_queries(1):
        assert shown.render(Context({"card": walk.card})) == f"1 of {total}, {total - 1}"
