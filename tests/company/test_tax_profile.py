"""Tax profiles are data: each can be set up, each rate has a day and a source."""

import datetime as dt
import json
from decimal import Decimal

import pytest
from django.conf import settings

from workshop.calc import tax
from workshop.company import actions, queries
from workshop.history.actions import Actor

FOLDER = settings.BASE_DIR / "fixtures/tax"
NAMES = sorted(path.stem for path in FOLDER.glob("*.json"))


def test_the_three_profiles_are_there():
    assert NAMES == ["australia", "unregistered", "vellmark"]


@pytest.mark.parametrize("name", NAMES)
def test_each_says_all_that_papers_need_and_where_it_is_written(name):
    profile = actions.tax_profile(name)
    assert profile["profile"] == name
    assert profile["basis"] in {"exclusive", "inclusive"}
    assert profile["rounding"] in profile["rounding_choices"]
    assert set(profile["rounding_choices"]) <= {"total", "line"}
    assert Decimal(profile["cash_step"]) >= Decimal("0.01")
    assert profile["registration"]["word"]
    for rate in profile["rates"]:
        assert 0 < tax.require_rate(Decimal(rate["rate"])) < 1
        assert dt.date.fromisoformat(rate["from_on"]) and rate["source"] and rate["name"] and rate["code"]
    for words in ("source", "rounding_source", "cash_source"):
        assert profile[words]


def test_the_unregistered_one_has_no_word_of_tax():
    assert "tax" not in json.dumps(actions.tax_profile("unregistered")).lower()
    assert actions.tax_profile("unregistered")["rates"] == []


@pytest.mark.django_db
def test_australia_has_a_tenth_and_leaves_the_choice_of_rounding():
    """GST Act 1999 s 9-70: 10 % of the value. s 9-90: total invoice or line by line; 3 x 0.45 is 0.14 or 0.15 (own sum, by hand)."""
    actions.set_up(Actor.system("t"), name="A", address="B", phone="1", tax_profile_name="australia")
    rate = queries.tax_rate_on("standard", dt.date(2026, 11, 25))
    assert (rate, queries.company().currency) == (Decimal("0.1"), "AUD")
    lines = [tax.Line(Decimal("0.45"), "standard", rate)] * 3
    given = [tax.document(lines, per=per).tax for per in actions.tax_profile("australia")["rounding_choices"]]
    assert given == [Decimal("0.14"), Decimal("0.15")]
    with pytest.raises(LookupError):
        queries.tax_rate_on("standard", dt.date(2000, 6, 30))


def test_a_profile_there_is_not_is_said():
    with pytest.raises(LookupError, match="There is no tax profile moon"):
        actions.tax_profile("moon")
