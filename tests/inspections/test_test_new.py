"""inspections:test_new, a test that is a finding too."""

from decimal import Decimal

import pytest
from django.urls import reverse

from tests.inspections.test_finding_new import picture
from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, told
from workshop.inspections import actions, queries
from workshop.inspections.models import Finding
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card

GOOD = {
    "place": "Engine, front",
    "condition": "act",
    "tested": "Charging voltage at 1,500 rev/min",
    "tool": "Meter DEMO-3",
    "state": "hot",
    "read": "13.1",
    "unit": "V",
    "expected": "13.8 to 14.6 V",
    "expected_source": "K1 maker's manual, DEMO, p. 9-2",
    "verdict": "not_expected",
    "rules_out": "the battery alone",
}


def sent(client, card, **typed):
    return client.post(reverse("inspections:test_new", args=[card.pk]), {**GOOD, "uid": a_uid(), **typed})


def test_it_is_a_finding_with_the_record_of_a_test_in_one_line_of_history(company, as_mechanic):
    card, before = dairy_card(), told()
    assert sent(as_mechanic, card, camera=picture()).status_code == 302
    finding = Finding.objects.get()
    assert (finding.measured, finding.unit, finding.limit_words) == (Decimal("13.1"), "V", "13.8 to 14.6 V")
    assert finding.words == "Charging voltage at 1,500 rev/min: 13.1 V, not as expected"
    assert (finding.test.state, finding.test.verdict, finding.test.rules_out) == ("hot", "not_expected", "the battery alone")
    assert (finding.condition, finding.photos.count()) == ("act", 1)
    assert kinds(before) == ["inspections.tested"]


def test_its_page_shows_read_beside_expected_with_the_source(company, as_office, as_mechanic):
    sent(as_mechanic, dairy_card())
    text = as_office.get(reverse("inspections:finding", args=[Finding.objects.get().uid])).content.decode()
    for said in ("<h1>Test</h1>", "Read, hot", "13.1\u00a0V", "13.8 to 14.6 V", "DEMO, p. 9-2", "not as expected", "the battery alone"):
        assert said in text


def test_words_may_stand_for_a_number_and_what_is_expected_in_words_needs_no_page(company, as_mechanic):
    typed = {"read": "", "unit": "", "read_words": "smoke at the intercooler clamp", "expected": "no smoke anywhere", "expected_source": ""}
    assert sent(as_mechanic, dairy_card(), **typed).status_code == 302
    text = as_mechanic.get(reverse("inspections:finding", args=[Finding.objects.get().uid])).content.decode()
    assert "in words, no figure" in text


def test_an_unclear_test_may_expect_nothing(company, as_mechanic):
    assert sent(as_mechanic, dairy_card(), verdict="unclear", expected="", expected_source="").status_code == 302


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"tested": ""}, "Nothing written. Say what was tested"),
        ({"tested": "x" * 81}, "81 characters. At most 80"),
        ({"tested": "a\x00b"}, "no paper can print"),
        ({"tool": "a\u202eb"}, "no paper can print"),
        ({"place": ""}, "No place."),
        ({"condition": ""}, "Choose one by its shape."),
        ({"state": "lukewarm"}, "Choose one: cold, hot, either."),
        ({"verdict": ""}, "Choose one: as expected"),
        ({"unit": ""}, "13.1 of what?"),
        ({"read": "", "unit": ""}, "Nothing read."),
        ({"read": "lots"}, "is not a number"),
        ({"read": "1" * 13}, "does not fit"),
        ({"expected": ""}, "Compared with what?"),
        ({"expected_source": ""}, "A figure to compare with has a source."),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "the battery alone" in answer.content.decode()
    assert (Finding.objects.count(), told()) == (0, before)


def test_sent_twice_it_is_one_test(company, as_mechanic):
    card, uid, before = dairy_card(), a_uid(), told()
    sent(as_mechanic, card, uid=uid)
    sent(as_mechanic, card, uid=uid)
    assert (Finding.objects.count(), kinds(before)) == (1, ["inspections.tested"])
    assert "on another card" in sent(as_mechanic, dairy_card(), uid=uid).content.decode()


def test_a_card_that_was_closed_meanwhile_takes_no_test(company, as_mechanic):
    card = dairy_card()
    Card.objects.filter(pk=card.pk).update(state="closed")
    answer = sent(as_mechanic, card)
    assert answer.status_code == 422
    assert "is closed" in answer.content.decode()
    assert not Finding.objects.exists()


def test_the_verb_itself_refuses_a_figure_without_a_source(company):
    what = {
        "place": "Engine",
        "condition": "act",
        "tested": "Voltage",
        "state": "hot",
        "verdict": "expected",
        "read": Decimal(12),
        "unit": "V",
    }
    with pytest.raises(Refused, match="has a source"):
        actions.add_test(TESTER, dairy_card(), **what, expected="12 V")


def test_the_cards_findings_come_with_their_tests_in_one_query(company, as_mechanic, django_assert_num_queries):
    card = dairy_card()
    sent(as_mechanic, card)
    actions.add_finding(TESTER, card, place="Engine", words="Wet", condition="watch")
    with django_assert_num_queries(1):
        assert [getattr(found, "test", None) and found.test.verdict for found in queries.of_card(card)] == ["not_expected", None]


def test_what_was_typed_comes_back_inert(company, as_mechanic):
    assert HOSTILE not in sent(as_mechanic, dairy_card(), tested=HOSTILE, condition="").content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_writes_tests(company, request, who):
    assert sent(request.getfixturevalue(who), dairy_card()).status_code == 403
