"""jobs:known, customers and vehicles recognised while somebody types an enquiry."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.jobs.cards import HOSTILE, dairy_card, told
from workshop.customers.actions import write_party
from workshop.customers.models import Party
from workshop.customers.queries import beginning

KNOWN = "/m/new/known/"


def shown(client, **typed):
    answer = client.get(KNOWN, typed)
    assert answer.status_code == 200
    return answer.content.decode()


@pytest.mark.parametrize("typed", [{"name": "Churn"}, {"name": "churn"}, {"phone": "+999 555 010 1"}])
def test_a_customer_is_recognised_by_the_beginning_of_name_or_number(company, as_mechanic, typed):
    party = dairy_card().roles.get(kind="owner").party
    assert f"?customer={party.pk}" in shown(as_mechanic, **typed)


def test_a_vehicle_is_recognised_by_the_beginning_of_its_plate_and_stands_chosen_in_the_form(company, as_mechanic):
    card = dairy_card()
    party = card.roles.get(kind="owner").party
    link = f"?customer={party.pk}&amp;vehicle={card.vehicle.pk}"
    assert link in shown(as_mechanic, plate="vm 00")
    page = as_mechanic.get(reverse("jobs:enquiry") + link.replace("&amp;", "&")).content.decode()
    assert f'name="vehicle" value="{card.vehicle.pk}"' in page
    assert "checked" in page.split(f'name="vehicle" value="{card.vehicle.pk}"')[1].split(">")[0]


@pytest.mark.parametrize(
    "typed", [{}, {"name": "Ch"}, {"plate": "VM"}, {"name": "%%%"}, {"name": "x" * 10_000}, {"plate": "a\x00b"}, {"name": HOSTILE}]
)
def test_too_little_or_nothing_that_fits_shows_nothing(company, as_mechanic, typed):
    dairy_card()
    before = told()
    assert shown(as_mechanic, **typed).strip() == ""
    assert told() == before


def test_a_name_with_a_script_stands_there_inert(company, as_mechanic):
    write_party("private", HOSTILE)
    assert HOSTILE not in shown(as_mechanic, name="<script")


def test_an_entry_merged_away_is_not_offered(company, as_mechanic):
    keep, drop = write_party("firm", "Quadrant Maps"), write_party("firm", "Quadrant Charts")
    Party.objects.filter(pk=drop.pk).update(merged_into=keep)
    assert "Quadrant Charts" not in shown(as_mechanic, name="Quadrant")


@pytest.mark.sqlite_only  # SQLite's plan
def test_it_reads_a_stretch_of_the_index_and_never_the_whole_table(company):
    assert "SEARCH" in Party.objects.filter(beginning("name", "Churn")).explain()


def test_it_asks_the_same_few_questions_however_many_fit(company, as_mechanic):
    for number in range(30):
        write_party("firm", f"Churnholt {number}", phone=f"+999 555 {number:03}")
    with CaptureQueriesContext(connection) as asked:
        assert shown(as_mechanic, name="Churn", phone="+999", plate="VM 00").count("On file") == 5
    assert len(asked) <= 6


def test_the_bookkeeper_gets_a_calm_403(company, as_bookkeeper):
    assert as_bookkeeper.get(KNOWN).status_code == 403
