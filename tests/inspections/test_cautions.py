"""The usual cautions by system, on inspections:site_check, inspections:finding and jobs:line."""

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, dairy_card, seal_line
from workshop.inspections import actions, queries

WHO_SAYS_SO = ("HSE ", "HSE,", "OSHA ", "Regulations 1995")


@pytest.mark.parametrize("row", queries.listed("cautions"), ids=lambda row: row["topic"])
def test_a_row_names_who_says_so_and_notice_is_never_about_injury(row):
    """ANSI Z535.4-2007, 4.14.1 to 4.14.4: danger, warning and caution are for injury, notice is not."""
    assert any(body in row["source"] for body in WHO_SAYS_SO)
    assert row["word"] in queries.WORDS
    assert (row["word"] == "notice") == (not row["injury"])
    assert row["meets"]


def test_of_several_in_one_box_the_highest_word_wins():
    """ANSI Z535.4: one list of hazards bears the highest of their words."""
    rows = queries.listed("cautions")
    assert queries.highest_word(rows) == "danger"
    assert queries.highest_word([row for row in rows if row["word"] != "danger"]) == "warning"
    assert queries.highest_word([]) == ""


@pytest.mark.parametrize(
    ("words", "topics"),
    [
        ("Injector 3 leaks back", ["pressure"]),
        ("Front brakes", ["jacking", "brake dust"]),
        ("Recharge the air conditioning", ["refrigerant"]),
        ("Inverter cable chafed", ["high voltage"]),
        ("Wiper blade", []),
        ("", []),
    ],
)
def test_words_meet_their_system(words, topics):
    assert [row["topic"] for row in queries.cautions_met(words)] == topics


def test_they_stand_on_the_finding_and_on_the_line_and_the_makers_data_decides(company, as_mechanic):
    card = dairy_card()
    finding = actions.add_finding(TESTER, card, place="Brakes", words="Pads at the wear mark", condition="act")
    line = actions.line_from_finding(TESTER, finding, words="Brake pads, front")
    for address in (reverse("inspections:finding", args=[finding.uid]), reverse("jobs:line", args=[line.uid])):
        text = as_mechanic.get(address).content.decode()
        assert "DANGER" in text
        assert "OSHA 29 CFR 1910.1001" in text
        assert "maker’s data decides" in text


def test_a_line_that_names_no_system_has_no_box_and_hostile_words_stay_inert(company, as_mechanic):
    card = dairy_card()
    finding = actions.add_finding(TESTER, card, place="Cab", words=HOSTILE, condition="watch")
    text = as_mechanic.get(reverse("inspections:finding", args=[finding.uid])).content.decode()
    assert HOSTILE not in text
    assert 'class="caution' not in text


def test_the_site_check_lists_every_system_and_a_notice_has_no_alert_mark(company, as_mechanic):
    text = as_mechanic.get(reverse("inspections:site_check", args=[seal_line(dairy_card()).card_id])).content.decode()
    for row in queries.listed("cautions"):
        assert row["source"] in text
    assert '<p class="word">NOTICE' in text
