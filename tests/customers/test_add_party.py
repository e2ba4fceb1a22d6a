"""People and firms."""

from decimal import Decimal

import pytest

from tests.jobs.cards import TESTER, kinds, told
from workshop.customers import actions, queries
from workshop.customers.models import Party


def test_a_firm_has_the_one_who_speaks_for_it(db):
    before = told()
    party = actions.add_party(TESTER, "firm", "Churnholt Valley Dairy", phone="1", contact_name="Ilse Brackwater", contact_role="manager")
    contact = queries.main_contact(party)
    assert (contact.name, contact.role, contact.phone) == ("Ilse Brackwater", "manager", "1")
    assert kinds(before) == ["customers.added"]


def test_a_private_person_speaks_for_himself(db):
    assert queries.main_contact(actions.write_party("private", "Osgood Plumtree")).name == "Osgood Plumtree"


@pytest.mark.parametrize(("kind", "name"), [("private", "  "), ("club", "Osgood")])
def test_without_a_name_or_a_kind_there_is_no_party(db, kind, name):
    with pytest.raises(ValueError, match=r"name|club"):
        actions.write_party(kind, name)
    assert not Party.objects.exists()


def test_approvers_are_asked_in_their_order(db):
    payer = actions.write_party("firm", "Dairy")
    for name, limit, rank in (("Ilse", Decimal("2000.00"), 2), ("Tobin", Decimal("150.00"), 1)):
        actions.write_approver(payer, actions.write_contact(payer, name), limit, rank)
    assert [(a.contact.name, a.limit_gross) for a in queries.approvers(payer)] == [
        ("Tobin", Decimal("150.00")),
        ("Ilse", Decimal("2000.00")),
    ]


@pytest.mark.parametrize("words", ["churn", "brack", "555 010"])
def test_a_party_is_found_by_name_contact_or_number(db, words):
    actions.write_party("firm", "Churnholt", phone="+999 555 010 123", contact_name="Ilse Brackwater")
    assert [party.name for party in queries.matching(words)] == ["Churnholt"]
