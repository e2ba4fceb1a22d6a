"""A value has a source, and a second person checks it."""

from decimal import Decimal

import pytest

from tests.jobs.cards import SOURCE, TESTER, kinds, told
from workshop.history.actions import Actor
from workshop.specifications import actions, queries
from workshop.specifications.models import Value


def entered(**more):
    what = {"source": SOURCE, "component": "Caliper bracket", "number": Decimal("110"), "unit": "N·m"}
    return actions.add_value(TESTER, **{**what, **more})


def test_a_value_is_kept_as_printed_with_its_source(db):
    before = told()
    value = entered()
    assert str(value) == "Caliper bracket: 110 N·m"
    assert str(value.source) == "maker's manual ed. 2021-06 p. 7-14"
    assert kinds(before) == ["specifications.entered"]


@pytest.mark.parametrize("wrong", [{"source": {**SOURCE, "title": " "}}, {"number": Decimal("-1")}, {"number": Decimal(0)}])
def test_no_source_or_no_number_is_refused(db, wrong):
    with pytest.raises(actions.Refused):
        entered(**wrong)
    assert not Value.objects.exists()


def test_two_sources_stand_side_by_side_strongest_first(db):
    entered(source={**SOURCE, "kind": "K4"}, number=Decimal(123))
    entered()
    assert [(v.source.kind, v.number) for v in queries.values_of("caliper bracket")] == [("K1", 110), ("K4", 123)]


def test_somebody_else_checks_it_once(db, mechanic):
    value = entered()
    with pytest.raises(actions.Refused, match="Somebody else"):
        actions.check_value(TESTER, value)
    before = told()
    actions.check_value(Actor.of(mechanic), value)
    assert kinds(before) == ["specifications.checked"]
    with pytest.raises(actions.Refused, match="checked this source before"):
        actions.check_value(Actor.of(mechanic), value)
