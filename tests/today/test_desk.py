"""today:desk, the office's first page."""

import datetime as dt

import pytest
from django.test import Client

from tests.jobs.cards import TESTER, dairy_card
from workshop import clock
from workshop.inspections.actions import Lone, check_site
from workshop.worksheets.actions import FollowUpIn, add_follow_up


@pytest.mark.django_db
def test_an_empty_desk_says_so(as_office: Client) -> None:
    page = as_office.get("/").content.decode()
    assert "No card is open." in page
    assert "Everything is paid." in page


@pytest.mark.django_db
def test_each_begins_where_the_work_is(as_mechanic: Client, as_bookkeeper: Client, as_owner: Client) -> None:
    assert as_mechanic.get("/").headers["Location"] == "/m/"
    assert as_bookkeeper.get("/").headers["Location"] == "/books/"
    assert as_owner.get("/").status_code == 200


@pytest.mark.django_db
def test_who_works_alone_and_what_is_to_be_looked_at_again(company: object, as_office: Client, as_bookkeeper: Client) -> None:
    card = dairy_card()
    alone = Lone(check_in_at=clock.now() + dt.timedelta(minutes=30), call_name="Bram Ledgerley", call_phone="+999 555 010 118")
    check_site(TESTER, card, ground="gravel", verdict="work", lone=alone)
    what = FollowUpIn(words="Look for a leak", due_on=clock.today())
    add_follow_up(TESTER, card, what)
    page = as_office.get("/").content.decode()
    assert "Else call Bram Ledgerley" in page
    assert "Look for a leak" in page
    assert "Look for a leak" not in as_bookkeeper.get("/?desk").content.decode()
