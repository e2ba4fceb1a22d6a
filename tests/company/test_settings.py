"""company:settings, the owner's overview; and that every sheet of the business is the owner's alone."""

import datetime as dt
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.company.sheets import OTHERS, asked, text
from workshop.company import actions
from workshop.company.models import Company, Series, TaxRate
from workshop.history.actions import Actor
from workshop.history.models import Event

TESTER = Actor.system("tester")
NAMES = ["settings", "identity", "rates", "call_out", "series", "wordings", "people", "person_new", "powers"]
ADDRESSES = [reverse(f"company:{name}") for name in NAMES] + ["/company/wordings/terms/"]


def test_it_shows_the_whole_business(company, as_owner):
    page = text(as_owner.get(reverse("company:settings")))
    for words in ("Quillfeather Mobile Diesel", "78.00", "46.00", "22 %", "VM 000 000 001", "26-0001", "Ada Quillfeather", "No rule set."):
        assert words in page


def test_every_part_leads_to_its_sheet(company, as_owner):
    page = as_owner.get("/company/").content.decode()
    for address in ADDRESSES[1:7]:
        assert f'href="{address}"' in page


@pytest.mark.parametrize("who", OTHERS)
@pytest.mark.parametrize("address", ADDRESSES)
def test_everybody_else_gets_a_calm_403(company, request, who, address):
    client, before = request.getfixturevalue(who), Event.objects.count()
    for answer in (client.get(address), client.post(address, {"name": "x"})):
        assert answer.status_code in {403, 405}
        assert answer.status_code == 405 or "This sheet is for owner. Nothing was changed." in text(answer)
    assert Event.objects.count() == before


@pytest.mark.parametrize("address", ADDRESSES)
def test_reading_changes_nothing(company, as_owner, address):
    before = (Event.objects.count(), Series.objects.count(), Company.objects.values().get())
    assert as_owner.get(address).status_code == 200
    assert before == (Event.objects.count(), Series.objects.count(), Company.objects.values().get())


def test_before_set_up_there_is_nothing_here(as_owner):
    assert as_owner.get("/company/").status_code == 404
    assert as_owner.get("/company/identity/").status_code == 404


def test_the_same_questions_for_one_row_and_for_many(company, as_owner):
    one = {address: asked(as_owner, address) for address in ADDRESSES}
    for month in range(1, 13):
        actions.set_rate(TESTER, "workshop", dt.date(2021, month, 1), Decimal(60 + month))
        actions.set_call_out(TESTER, dt.date(2021, month, 1), **RULE)
        actions.write_wording(TESTER, "terms", f"Terms {month}")
        word = f"lantern yard {month} seal"
        actions.add_person(TESTER, username=f"p{month}", first_name=f"P{month}", last_name="", role="mechanic", password=word)
    assert {address: asked(as_owner, address) for address in ADDRESSES} == one
    assert max(one.values()) <= 10


RULE = {
    "base_amount": Decimal("45.00"),
    "free_km": Decimal("10.0"),
    "km_amount": Decimal("0.62"),
    "travel_class": "travel",
    "night_factor": Decimal("1.50"),
    "weekend_factor": Decimal("1.25"),
    "night_begins": dt.time(20),
    "night_ends": dt.time(6),
}


def test_a_business_that_is_not_registered_sees_no_word_of_tax(db, as_owner):
    place = {"country": "Vellmark", "tax_profile_name": "unregistered"}
    actions.set_up(TESTER, name="Pip's Diesel", address="2 Lantern Yard", phone="+999 555 010 118", **place)
    assert not TaxRate.objects.exists()
    for address in ADDRESSES:
        if address != reverse("company:powers"):
            assert "tax" not in text(as_owner.get(address)).lower()
