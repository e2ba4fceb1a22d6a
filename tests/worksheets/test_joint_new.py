"""worksheets:joint_new and worksheets:value_new: a joint, and a value with its source."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from workshop.specifications.models import Source, Value
from workshop.worksheets import actions
from workshop.worksheets.models import Joint

VALUE = {"number": "45", "unit": "N·m", "stages": "20, 45, 90°", "lubrication": "oiled"}
SOURCED = {**VALUE, "kind": "K1", "title": "maker's manual", "edition": "2021-06", "page": "7-14"}
JOINT = {"component": "Pressure plate to flywheel", "fasteners": "6"}


def sent(client, of, **typed):
    good = {"uid": a_uid(), "line": of.pk, **JOINT, **SOURCED}
    return client.post(reverse("worksheets:joint_new", args=[of.card.pk]), {**good, **typed})


def test_a_joint_comes_with_its_value_and_who_entered_it(company, as_mechanic):
    line = seal_line(dairy_card())
    before = told()
    assert sent(as_mechanic, line).status_code == 302
    joint = Joint.objects.get()
    assert (joint.component, joint.fasteners, joint.value.number, joint.value.unit) == (JOINT["component"], 6, Decimal(45), "N·m")
    assert joint.value.stages == [{"seat": "20", "unit": "N·m"}, {"seat": "45", "unit": "N·m"}, {"angle": "90"}]
    assert (joint.value.source.kind, joint.value.source.entered_by) == ("K1", "Pip Tansley-Vole")
    assert kinds(before) == ["worksheets.joint_added"]


def test_a_joint_comes_without_a_value_too(company, as_mechanic):
    empty = dict.fromkeys([*SOURCED], "")
    assert sent(as_mechanic, seal_line(dairy_card()), **empty).status_code == 302
    assert Joint.objects.get().value is None


def test_the_same_page_sent_twice_is_one_joint(company, as_mechanic):
    line, uid = seal_line(dairy_card()), a_uid()
    sent(as_mechanic, line, uid=uid)
    sent(as_mechanic, line, uid=uid)
    assert (Joint.objects.count(), Value.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"component": ""}, "Nothing written."),
        ({"component": "x" * 10_000}, "10,000 characters."),
        ({"fasteners": "0"}, "does not fit"),
        ({"fasteners": "1.5"}, "does not fit"),
        ({"fasteners": "9999"}, "9999 bolts on one joint."),
        ({"number": ""}, "No number."),
        ({"number": "1e9"}, "does not fit"),
        ({"unit": ""}, "Choose the unit"),
        ({"unit": "ugh"}, "Choose the unit"),
        ({"kind": ""}, "Choose what kind of source"),
        ({"title": ""}, "No title."),
        ({"stages": "tight, tighter"}, "is no stage"),
        ({"line": "987654321"}, "That line is not on this card."),
        ({"line": "x"}, "That line is not on this card."),
        ({"uid": ""}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    line = seal_line(dairy_card())
    before = told()
    answer = sent(as_mechanic, line, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (Joint.objects.count(), Value.objects.count(), Source.objects.count(), told()) == (0, 0, 0, before)


def test_another_cards_line_is_refused(company, as_mechanic):
    line, other = seal_line(dairy_card()), seal_line(dairy_card())
    assert sent(as_mechanic, line, line=other.pk).status_code == 422


def test_what_was_typed_comes_back_inert(company, as_mechanic):
    assert HOSTILE not in sent(as_mechanic, seal_line(dairy_card()), component=HOSTILE, title="").content.decode()


def given(client, joint, **typed):
    return client.post(reverse("worksheets:value_new", args=[joint.pk]), {**SOURCED, **typed})


def test_a_joint_gets_its_value_later(company, as_mechanic):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket")
    assert "Enter source" in as_mechanic.get(reverse("worksheets:value_new", args=[joint.pk])).content.decode()
    before = told()
    assert given(as_mechanic, joint).status_code == 302
    joint.refresh_from_db()
    assert (joint.value.component, joint.value.source.page) == ("Bracket", "7-14")
    assert kinds(before) == ["worksheets.value_given"]


def test_a_value_without_a_source_is_refused(company, as_mechanic):
    joint = actions.add_joint(TESTER, seal_line(dairy_card()), "Bracket")
    answer = given(as_mechanic, joint, title="")
    assert answer.status_code == 422
    assert "No title." in answer.content.decode()
    assert not Value.objects.exists()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_enters_values(company, request, who):
    line = seal_line(dairy_card())
    client = request.getfixturevalue(who)
    assert sent(client, line).status_code == 403
    assert given(client, actions.add_joint(TESTER, line, "Bracket")).status_code == 403


def test_a_page_used_on_another_line_is_refused(company, as_mechanic):
    uid, other = a_uid(), seal_line(dairy_card())
    sent(as_mechanic, seal_line(dairy_card()), uid=uid)
    before = told()
    answer = sent(as_mechanic, other, uid=uid)
    assert answer.status_code == 422
    assert "The page has lost its number." in answer.content.decode()
    assert (Joint.objects.count(), told()) == (1, before)
