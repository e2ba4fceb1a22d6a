"""worksheets:joint_strike: a joint that does not belong on the sheet; a struck line takes its joints with it."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, SOURCE, TESTER, dairy_card, kinds, seal_line, told
from workshop.jobs import actions as jobs
from workshop.jobs.models import Hold
from workshop.specifications.actions import ValueIn
from workshop.worksheets import actions
from workshop.worksheets.models import Joint, Tick

VALUE = ValueIn(SOURCE, Decimal(25), "N·m")


def strike(client, joint, reason="Belongs to the other side."):
    return client.post(reverse("worksheets:joint_strike", args=[joint.pk]), {"reason": reason})


def sheet(client, card):
    return " ".join(client.get(reverse("worksheets:tightening", args=[card.pk])).content.decode().split())


def test_it_counts_no_longer_and_stays_to_be_seen_with_what_the_tool_showed(company, as_mechanic):
    line = seal_line(dairy_card(), critical=True)
    right, wrong = actions.add_joint(TESTER, line, "Bracket", 2, VALUE), actions.add_joint(TESTER, line, "Wrong side", 2, VALUE)
    actions.tick_joint(TESTER, right, Decimal(25), "N·m", "T2")
    actions.tick_joint(TESTER, wrong, Decimal(24), "N·m", "T9")
    actions.give_value(TESTER, wrong, VALUE)
    with pytest.raises(jobs.Refused, match="Wrong side is not ticked"):
        jobs.finish_line(TESTER, line)
    before = told()
    for _ in range(2):
        assert strike(as_mechanic, wrong).status_code == 302
    assert kinds(before) == ["worksheets.joint_struck"]
    assert not Hold.objects.filter(released_at=None).exists()
    text = sheet(as_mechanic, line.card).split("Off the sheet")[1]
    assert "Belongs to the other side. · Pip Tansley-Vole" in text
    assert "Tool T9 showed 24 N·m" in text
    jobs.finish_line(TESTER, line)


def test_without_any_joint_left_a_critical_line_is_held_again(company, as_mechanic):
    line = seal_line(dairy_card(), critical=True)
    joint = actions.add_joint(TESTER, line, "Bracket", 2, VALUE)
    actions.tick_joint(TESTER, joint, Decimal(25), "N·m", "T2")
    strike(as_mechanic, joint)
    with pytest.raises(jobs.Refused, match="no joint is on its tightening sheet"):
        jobs.finish_line(TESTER, line)


def test_a_struck_joint_takes_no_tick_and_no_value(company, as_mechanic):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket", 2, VALUE)
    strike(as_mechanic, joint)
    with pytest.raises(jobs.Refused, match="was taken off the sheet"):
        actions.tick_joint(TESTER, joint, Decimal(25), "N·m", "T2")
    with pytest.raises(jobs.Refused, match="was taken off the sheet"):
        actions.give_value(TESTER, joint, VALUE)
    assert not Tick.objects.exists()


def test_a_joint_of_a_struck_line_does_not_count(company, as_mechanic):
    line = seal_line(dairy_card(), accepted=False, critical=True)
    joint = actions.add_joint(TESTER, line, "Bracket", 2, VALUE)
    jobs.strike_line(TESTER, line, "Wrong card.", billed=lambda _: "")
    assert "line 1 is struck: Wrong card." in sheet(as_mechanic, line.card)
    for verb in (lambda: actions.tick_joint(TESTER, joint, Decimal(25), "N·m", "T2"), lambda: actions.add_joint(TESTER, line, "More")):
        line.refresh_from_db()
        with pytest.raises(jobs.Refused, match="is struck"):
            verb()
    assert not Hold.objects.filter(released_at=None).exists()


@pytest.mark.parametrize("reason", ["", " ", "x" * 10_000])
def test_without_a_reason_nothing_is_struck(company, as_mechanic, reason):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket")
    before = told()
    assert strike(as_mechanic, joint, reason).status_code == 422
    assert not Joint.objects.exclude(struck_at=None).exists()
    assert told() == before


def test_hostile_text_and_a_closed_card(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card)
    one, two = actions.add_joint(TESTER, line, "Bracket"), actions.add_joint(TESTER, line, "Cover")
    strike(as_mechanic, one, HOSTILE)
    assert HOSTILE not in sheet(as_mechanic, card)
    jobs.finish_line(TESTER, line)
    jobs.mark_ready(TESTER, card)
    jobs.close_card(TESTER, card)
    assert strike(as_mechanic, two).status_code == 422


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles(company, request, who):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket")
    assert strike(request.getfixturevalue(who), joint).status_code == 403
