"""company:powers, who may do what: what the table says is what the pages do."""

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from tests.company.sheets import text
from tests.jobs.cards import dairy_card
from workshop.company import queries
from workshop.staff.models import User

POWERS = {power.page: power for power in queries.powers()}


def test_every_power_has_its_page():
    assert POWERS.keys() == {page for _, page in queries.POWERS}


def test_every_sheet_of_the_program_stands_in_the_table(company, as_owner):
    page = text(as_owner.get(reverse("company:powers")))
    for name in ("jobs:card", "quotes:go_ahead", "bookkeeping:batch", "company:powers", "pages:light"):
        assert name in page
    assert len(queries.every_sheet()) == len({power.page for power in queries.every_sheet()})


def test_who_reads_an_invoice_need_not_be_who_issues_it():
    opened = {power.page: power.roles for power in queries.every_sheet()}["invoices:invoice_new"]
    assert opened > POWERS["invoices:invoice_new"].roles == {"owner", "office"}


@pytest.mark.parametrize("page", POWERS)
@pytest.mark.parametrize("role", User.Role.values)
def test_the_button_is_closed_to_exactly_whom_the_table_leaves_out(company, page, role):
    """The button is really pressed, with nothing typed: 403 for those left out, anything but 403 for the others."""
    card, client = dairy_card(), Client()
    client.force_login(User.objects.create_user(role, role=role))
    address = _address(page, card.pk)
    if page == "company:settings":
        page, address = "company:identity", reverse("company:identity")
    status = client.post(address).status_code
    assert (status == 403) == (role not in POWERS.get(page, POWERS["company:settings"]).roles), status


def _address(page, pk):
    for words in ([], [pk], [uuid.uuid4()]):
        try:
            return reverse(page, args=words)
        except Exception:
            continue
    raise AssertionError(page)
