"""jobs:strip_new: opened only to look, its stop-here price told before the first bolt."""

import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from workshop.jobs import actions
from workshop.jobs.actions import common
from workshop.jobs.models import Card, CardStep, Line


@pytest.fixture
def front(company):
    """The steps of the worked example: belt side and coolant side of an engine; own exact arithmetic, no published source."""
    card = dairy_card()

    def step(words, minutes, *needs, **more):
        return actions.add_step(TESTER, card, words=words, open_minutes=minutes[0], close_minutes=minutes[1], needs=needs, **more)

    tray = step("Tray", (12, 12))
    step("Coolant drained", (15, 30), tray, material_words="coolant", material_amount=Decimal("46.20"))
    belt = step("Drive belt", (25, 25), tray)
    cover = step("Front cover", (35, 40), belt, material_words="gasket", material_amount=Decimal("38.00"))
    step("Timing belt off", (20, 35), cover)
    return card


def strip(client, card, *words, **more):
    steps = [step.pk for step in CardStep.objects.filter(words__in=words)]
    sent = {"uid": a_uid(), "words": "Look at the timing belt", "why": "To see whether the belt can stay.", "steps": steps, **more}
    return client.post(reverse("jobs:strip_new", args=[card.pk]), sent)


def test_it_is_reckoned_before_anything_is_saved(front, as_mechanic):
    """Opening 92 and closing 112 min at 78.00 and a gasket of 38.00: 303.20 net, 369.90 with 22 % tax; by hand, no published source."""
    before = told()
    answer = strip(as_mechanic, front, "Timing belt off", reckon="1")
    text = answer.content.decode()
    assert answer.status_code == 200
    for said in ("204 min", "303.20", "369.90", "Opening uses up: gasket 38.00.", "Look at the timing belt"):
        assert said in text
    assert "coolant 46.20" not in text
    assert (told(), Line.objects.count()) == (before, 0)


def test_saved_it_is_a_line_of_steps_and_the_card_tells_its_price(front, as_mechanic):
    before, uid = told(), a_uid()
    for _ in range(3):
        answer = strip(as_mechanic, front, "Timing belt off", uid=uid)
    line = Line.objects.get()
    assert (line.kind, line.own_minutes, line.steps.count(), line.answer) == ("strip", 0, 1, "draft")
    assert kinds(before) == ["jobs.strip_added"]
    text = as_mechanic.get(answer.url).content.decode()
    assert "Stopped after opening it is 303.20 net, 369.90 with tax." in text
    assert "stopped there 369.90 with tax" in text


def test_two_taps_at_one_instant_are_one_line_told_once(front, monkeypatch):
    """The second waits for the card; when it has it, the first is through."""
    uid, before, real, waited = a_uid(), told(), common.locked, []
    what = {"words": "Look", "why": "To see.", "steps": [front.steps.first()], "uid": uuid.UUID(uid)}

    def waits(card):
        if not waited:
            waited.append(card)
            actions.add_strip(TESTER, front, **what)
        return real(card)

    monkeypatch.setattr(common, "locked", waits)
    assert actions.add_strip(TESTER, front, **what) == Line.objects.get()
    assert kinds(before) == ["jobs.strip_added"]


def test_a_line_ordered_afterwards_pays_opening_once(front, as_mechanic):
    """Belt kit 18 min and 214.00 behind the same steps: 540.60 net, 659.53 with tax, with the strip or without; by hand."""
    strip(as_mechanic, front, "Timing belt off")
    steps = [CardStep.objects.get(words="Timing belt off")]
    seal_line(front, accepted=False, words="Belt kit", own_minutes=18, parts=[actions.PartIn("Kit", Decimal("214.00"))], steps=steps)
    assert "659.53" in as_mechanic.get(reverse("jobs:card", args=[front.pk])).content.decode()


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        ({"steps": []}, "Nothing is opened. Choose at least one step"),
        ({"steps": ["987654321"]}, "That step is not on this card."),
        ({"steps": ["x"]}, "That step is not on this card."),
        ({"words": ""}, "Nothing written. Say what is opened"),
        ({"words": "x" * 10_000}, "10,000 characters."),
        ({"why": ""}, "Nothing written. Say why"),
        ({"why": "word " * 26}, "26 words. At most 25"),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_missing_or_absurd_is_refused_and_stays_in_its_box(front, as_mechanic, wrong, sentence):
    before = told()
    answer = strip(as_mechanic, front, "Timing belt off", **wrong)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    typed = {"words": "Look at the timing belt", "why": "To see whether the belt can stay.", **wrong}
    assert [typed[box] for box in ("words", "why") if typed[box] not in answer.content.decode()] == []
    assert (told(), Line.objects.count()) == (before, 0)


def test_a_step_of_another_card_is_refused(front, as_mechanic):
    other = dairy_card()
    actions.add_step(TESTER, other, words="Elsewhere", open_minutes=1, close_minutes=1)
    assert strip(as_mechanic, front, "Elsewhere").status_code == 422
    with pytest.raises(actions.Refused, match="stands on another card"):
        actions.add_strip(TESTER, front, words="x", why="y", steps=list(other.steps.all()))


def test_the_verb_refuses_what_no_form_asked(front):
    step = front.steps.first()
    for what, sentence in (({"steps": []}, "Nothing is opened"), ({"why": " "}, "No reason"), ({"words": " "}, "no words")):
        with pytest.raises(actions.Refused, match=sentence):
            actions.add_strip(TESTER, front, **{"words": "x", "why": "y", "steps": [step], **what})


def test_a_card_that_is_over_takes_no_strip(front, as_mechanic):
    Card.objects.update(state="closed")
    assert strip(as_mechanic, front, "Tray").status_code == 422
    assert Line.objects.count() == 0


def test_without_steps_on_the_card_it_says_to_add_them(company, as_mechanic):
    text = as_mechanic.get(reverse("jobs:strip_new", args=[dairy_card().pk])).content.decode()
    assert "add the steps first" in text


def test_without_a_rate_it_says_so(db, as_mechanic):
    card = dairy_card()
    actions.add_step(TESTER, card, words="Tray", open_minutes=1, close_minutes=1)
    assert "No hourly rate" in strip(as_mechanic, card, "Tray", reckon="1").content.decode()
    assert strip(as_mechanic, card, "Tray").status_code == 302
    assert as_mechanic.get(reverse("jobs:card", args=[card.pk])).status_code == 200


def test_hostile_words_stand_there_inert(front, as_mechanic):
    strip(as_mechanic, front, "Tray", words=HOSTILE, why=HOSTILE)
    assert HOSTILE not in as_mechanic.get(reverse("jobs:card", args=[front.pk])).content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_strips(front, request, who):
    assert strip(request.getfixturevalue(who), front, "Tray").status_code == 403
