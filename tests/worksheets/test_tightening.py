"""worksheets:tightening and worksheets:tick: joints, values with their sources, what the tool showed."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import SOURCE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from tests.jobs.test_leave import left
from workshop.jobs import actions as jobs
from workshop.jobs.models import Hold
from workshop.specifications.actions import ValueIn
from workshop.worksheets import actions, queries
from workshop.worksheets.models import Tick

MOST_QUERIES = 8


def value(kind="K1", number="25", **more):
    return ValueIn({**SOURCE, "kind": kind}, Decimal(number), "N·m", **more)


def shown(client, card):
    return " ".join(client.get(reverse("worksheets:tightening", args=[card.pk])).content.decode().split())


def ticked(client, joint, **typed):
    good = {"uid": a_uid(), "shown": "25", "unit": "N·m", "tool": "T2"}
    return client.post(reverse("worksheets:tick", args=[joint.pk]), {**good, **typed})


def test_a_value_stands_with_its_stages_and_its_source(company, as_office):
    card = dairy_card()
    stages = [{"seat": "15", "unit": "N·m"}, {"angle": "90"}]
    actions.add_joint(TESTER, seal_line(card), "Pressure plate to flywheel", 6, value(stages=stages, lubrication="dry"))
    text = shown(as_office, card)
    for said in ("Pressure plate to flywheel", "15", "+ 90°", "6 bolts</strong>, dry", "K1", "ed. 2021-06", "p. 7-14", "entered by tester"):
        assert said in text
    assert "unconfirmed" not in text


@pytest.mark.parametrize("kind", ["K5", "K6"])
def test_on_a_general_joint_weak_sources_print_unconfirmed(company, as_mechanic, kind):
    card = dairy_card()
    actions.add_joint(TESTER, seal_line(card), "Cover", 4, value(kind, "95"))
    assert "unconfirmed" in shown(as_mechanic, card)


@pytest.mark.parametrize("kind", ["K3", "K4", "K5", "K6"])
def test_on_a_critical_joint_only_a_makers_value_is_shown(company, as_mechanic, kind):
    card = dairy_card()
    actions.add_joint(TESTER, seal_line(card, critical=True), "Caliper bracket", 2, value(kind, "95"))
    text = shown(as_mechanic, card)
    assert "no source on file" in text
    assert "95" not in text.split("no source on file")[1].split("</section>")[0]


def test_without_a_value_the_box_is_empty(company, as_mechanic):
    card = dairy_card()
    actions.add_joint(TESTER, seal_line(card), "Cover")
    assert "no source on file" in shown(as_mechanic, card)


def test_a_critical_line_is_done_only_with_a_makers_value_and_a_tick_on_every_joint(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card, critical=True)
    first = actions.add_joint(TESTER, line, "Bracket", 2, value())
    ticked(as_mechanic, first)
    second = actions.add_joint(TESTER, line, "Hose bolt", 1)
    with pytest.raises(jobs.Refused, match="Hose bolt has no maker's value"):
        jobs.finish_line(TESTER, line)
    actions.give_value(TESTER, second, value("K2", "12"))
    with pytest.raises(jobs.Refused, match="Hose bolt is not ticked"):
        jobs.finish_line(TESTER, line)
    ticked(as_mechanic, second, shown="12")
    assert not Hold.objects.filter(released_at=None).exists()
    jobs.finish_line(TESTER, line)


def test_a_new_value_asks_for_a_new_tick(company, as_mechanic):
    line = seal_line(dairy_card(), critical=True)
    joint = actions.add_joint(TESTER, line, "Bracket", 2, value())
    ticked(as_mechanic, joint)
    actions.give_value(TESTER, joint, value(number="30"))
    with pytest.raises(jobs.Refused, match="Bracket is not ticked"):
        jobs.finish_line(TESTER, line)


def test_what_the_tool_showed_is_written_down_once(company, as_mechanic):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket", 2, value())
    uid, before = a_uid(), told()
    for _ in range(2):
        assert ticked(as_mechanic, joint, uid=uid, shown="24,5").status_code == 302
    tick = Tick.objects.get()
    assert (tick.shown, tick.unit, tick.tool, tick.by) == (Decimal("24.5"), "N·m", "T2", "Pip Tansley-Vole")
    assert kinds(before) == ["worksheets.ticked"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"shown": ""}, "No number."),
        ({"shown": "tight"}, "is not a number"),
        ({"shown": "1e9"}, "does not fit"),
        ({"shown": "-25"}, "does not fit"),
        ({"shown": "NaN"}, "does not fit"),
        ({"shown": "2.5"}, "The source says 25 N·m, the tool showed 2.5."),
        ({"shown": "27.5"}, "the tool showed 27.5"),
        ({"unit": "lbf·ft"}, "The source says N·m."),
        ({"tool": ""}, "No tool."),
        ({"tool": "x" * 10_000}, "10,000 characters."),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket", 2, value())
    before = told()
    answer = ticked(as_mechanic, joint, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (Tick.objects.count(), told()) == (0, before)


def test_a_joint_without_a_source_cannot_be_ticked(company, as_mechanic):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Cover")
    answer = ticked(as_mechanic, joint)
    assert answer.status_code == 422
    assert not Tick.objects.exists()


@pytest.mark.parametrize("count", [1, 20])
def test_it_asks_the_same_few_questions_however_many_joints_it_has(company, as_mechanic, django_assert_max_num_queries, count):
    card = dairy_card()
    line = seal_line(card)
    for number in range(count):
        actions.tick_joint(TESTER, actions.add_joint(TESTER, line, f"Joint {number}", 1, value()), Decimal(25), "N·m", "T2")
    with django_assert_max_num_queries(MOST_QUERIES):
        shown(as_mechanic, card)


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_ticks(company, request, who):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket", 2, value())
    assert ticked(request.getfixturevalue(who), joint).status_code == 403


def test_the_bookkeeper_gets_a_calm_403(company, as_bookkeeper):
    assert as_bookkeeper.get(reverse("worksheets:tightening", args=[dairy_card().pk])).status_code == 403


def test_it_is_judged_by_the_value_that_stands_there_now(company):
    """The page showed 25; another phone gave the joint 50 before the tick was sent."""
    joint = actions.add_joint(TESTER, seal_line(dairy_card(), critical=True), "Bracket", 2, value())
    shown_before = queries.joint(joint.pk)
    actions.give_value(TESTER, joint, value(number="50"))
    with pytest.raises(jobs.Refused, match="The source says 50"):
        actions.tick_joint(TESTER, shown_before, Decimal(25), "N·m", "T2")
    assert not Tick.objects.exists()


def test_a_joint_struck_meanwhile_takes_no_value(company):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket", 2, value())
    shown_before = queries.joint(joint.pk)
    actions.strike_joint(TESTER, joint, "Not on this one.")
    with pytest.raises(jobs.Refused, match="was taken off the sheet"):
        actions.give_value(TESTER, shown_before, value(number="50"))


def test_a_page_used_on_another_joint_is_refused(company, as_mechanic):
    line, uid = seal_line(dairy_card()), a_uid()
    one, two = (actions.add_joint(TESTER, line, name, 2, value()) for name in ("Bracket", "Hose bolt"))
    ticked(as_mechanic, one, uid=uid)
    before = told()
    answer = ticked(as_mechanic, two, uid=uid)
    assert answer.status_code == 422
    assert "The page has lost its number." in answer.content.decode()
    assert (Tick.objects.get().joint, told()) == (one, before)


def test_while_the_vehicle_is_left_nothing_is_ticked(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    joint = actions.add_joint(TESTER, seal_line(card), "Bracket", 2, value())
    ticked(as_mechanic, joint, uid=uid)
    left(card)
    before = told()
    assert "Coming back starts with a look at it." in ticked(as_mechanic, joint).content.decode()
    assert ticked(as_mechanic, joint, uid=uid).status_code == 302  # sent once more, it is the tick that is there
    assert (Tick.objects.count(), told()) == (1, before)
