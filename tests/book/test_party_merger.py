"""book:party_merger and book:vehicle_merger, one customer or vehicle written down twice; book:party and book:party_details."""

import uuid

import pytest
from django.urls import reverse

from tests.invoices.making import ADA, OSGOOD, ready_card
from tests.jobs.cards import HOSTILE, TESTER, dairy_card, kinds, seal_line, told
from workshop.book import actions as index
from workshop.book.queries import search
from workshop.customers import queries as customers
from workshop.customers.models import Contact, Party
from workshop.history.models import Event
from workshop.invoices import actions as invoices
from workshop.jobs import actions as jobs
from workshop.quotes import actions as quotes
from workshop.vehicles import actions as vehicles
from workshop.vehicles import queries
from workshop.vehicles.models import Owner, Vehicle


def owner_of(card):
    return card.roles.get(kind="owner").party


@pytest.fixture
def twice(company):
    """Osgood with a paper, and Osgood again, misspelt, with another vehicle."""
    first = ready_card()
    second = jobs.take_enquiry(
        ADA, customer={"kind": "private", "name": "Osgod Plumtre", "phone": "+999 555 010 199"},
        vehicle={"make": "Ostrel", "model": "Wander 28", "plate": "VM 00 DEMO-22"}, words="Again.",
    )  # fmt: skip
    return first, second


def party_page(client, keep, drop, q="osg", reason="Same person."):
    return client.post(reverse("book:party_merger", args=[keep.pk]), {"q": q, "other": drop.pk, "reason": reason})


def test_two_customers_become_one_and_nothing_vanishes(twice, as_office):
    first, second = twice
    keep, drop = owner_of(first), owner_of(second)
    shown = as_office.get(reverse("book:party_merger", args=[keep.pk]), {"q": "osgod"}).content.decode()
    assert "Osgod Plumtre" in shown
    before = told()
    assert party_page(as_office, keep, drop).headers["Location"] == reverse("book:party", args=[keep.pk])
    drop.refresh_from_db()
    assert drop.merged_into == keep
    assert {role.party for role in second.roles.all()} == {keep}
    assert Owner.objects.get(vehicle=second.vehicle).party == keep
    assert not Contact.objects.filter(party=drop).exists()
    assert kinds(before) == ["jobs.parties_merged"]
    assert '"roles":[' in Event.objects.get(kind="jobs.parties_merged").payload
    assert as_office.get(reverse("book:party", args=[drop.pk])).headers["Location"] == reverse("book:party", args=[keep.pk])
    text = as_office.get(reverse("book:party", args=[keep.pk])).content.decode()
    assert "Was also written down as" in text
    assert "VM 00 DEMO-22" in text


def test_papers_of_the_dropped_entry_keep_their_payer_and_are_found_at_the_kept_one(twice, as_office):
    first, second = twice
    keep, drop = owner_of(second), owner_of(first)
    document = invoices.issue_invoice(TESTER, first, request_uid=uuid.uuid4())
    assert party_page(as_office, keep, drop).status_code == 302
    document.refresh_from_db()
    assert document.payer == drop
    assert customers.entries(keep) == [keep.pk, drop.pk]
    assert document.number in as_office.get(reverse("book:party", args=[keep.pk])).content.decode()
    keep.refresh_from_db()
    assert keep.address == OSGOOD["address"]  # what it lacked


def test_the_old_name_still_finds_the_kept_entry(twice):
    first, second = twice
    jobs.merge_parties(TESTER, owner_of(first), owner_of(second), "Same person.")
    index.catch_up()
    assert search.find("osgod").parties == [owner_of(first)]
    assert search.find("010 199").parties == [owner_of(first)]


def test_merged_on_it_leads_to_the_last(twice, company):
    first, second = twice
    third = owner_of(dairy_card())
    jobs.merge_parties(TESTER, owner_of(first), owner_of(second), "Same.")
    jobs.merge_parties(TESTER, third, Party.objects.get(pk=owner_of(first).pk), "Same.")
    assert set(Party.objects.exclude(merged_into=None).values_list("merged_into", flat=True)) == {third.pk}


def test_itself_one_merged_before_an_open_quote_and_no_reason_are_refused(twice, as_office):
    first, second = twice
    keep, drop = owner_of(first), owner_of(second)
    before = told()
    assert party_page(as_office, keep, keep).status_code == 422
    assert party_page(as_office, keep, drop, reason="").status_code == 422
    assert party_page(as_office, keep, drop, reason="x" * 10_000).status_code == 422
    assert HOSTILE not in party_page(as_office, keep, drop, q=HOSTILE).content.decode()
    seal_line(second, accepted=False)
    version = quotes.send_version(TESTER, second, for_whom="Osgod")
    told_before = told()
    answer = party_page(as_office, keep, drop)
    assert answer.status_code == 422
    assert f"A quote on card {second} lies before Osgod Plumtre." in answer.content.decode()
    assert told() == told_before > before
    quotes.take_back(TESTER, version)
    party_page(as_office, keep, drop)
    with pytest.raises(jobs.Refused, match="merged before"):
        jobs.merge_parties(TESTER, keep, drop, "Again.")


def test_two_vehicles_become_one_with_all_cards_and_readings(twice, as_owner):
    first, second = twice
    keep, drop = first.vehicle, second.vehicle
    vehicles.read_meter(TESTER, keep, "km", 48_600)
    vehicles.read_meter(TESTER, drop, "km", 48_100)
    vehicles.read_meter(TESTER, drop, "h", 12)
    vehicles.change_vehicle(TESTER, drop, vin="DEMV0000000000028")
    page = reverse("book:vehicle_merger", args=[keep.pk])
    assert "VM 00 DEMO-22" in as_owner.get(page, {"q": "demo-22"}).content.decode()
    before = told()
    assert as_owner.post(page, {"q": "demo-22", "other": drop.pk, "reason": "Same camper."}).status_code == 302
    keep.refresh_from_db()
    assert (keep.vin, keep.cards.count(), drop.cards.count()) == ("DEMV0000000000028", 2, 0)
    assert (queries.run(keep, "h"), keep.meters.filter(unit="km").count()) == (12, 1)
    assert kinds(before) == ["jobs.vehicles_merged"]
    assert as_owner.get(reverse("book:vehicle", args=[drop.pk])).headers["Location"] == reverse("book:vehicle", args=[keep.pk])
    index.catch_up()
    assert search.find("demo-22").vehicles == [keep]
    assert not queries.by_plate("VM 00 DEMO-22").exists()


def test_two_vehicle_numbers_are_two_vehicles(twice, as_owner):
    first, second = twice
    vehicles.change_vehicle(TESTER, first.vehicle, vin="DEMV0000000000027")
    vehicles.change_vehicle(TESTER, second.vehicle, vin="DEMV0000000000028")
    page = reverse("book:vehicle_merger", args=[first.vehicle_id])
    answer = as_owner.post(page, {"q": "demo", "other": second.vehicle_id, "reason": "Same."})
    assert answer.status_code == 422
    assert "Two vehicle numbers" in answer.content.decode()
    assert not Vehicle.objects.exclude(merged_into=None).exists()


def test_the_mechanic_merges_nothing(twice, as_mechanic):
    first, second = twice
    assert party_page(as_mechanic, owner_of(first), owner_of(second)).status_code == 403
    assert as_mechanic.get(reverse("book:vehicle_merger", args=[first.vehicle_id])).status_code == 403
    assert as_mechanic.get(reverse("book:party", args=[owner_of(first).pk])).status_code == 200


def details(client, party, **typed):
    good = {"kind": "private", "name": "Osgood Plumtree", "address": "", "tax_number": "", "note": "", "contact_name": "Osgood",
            "contact_phone": "+999 555 010 177", "contact_email": "", "contact_role": ""}  # fmt: skip
    return client.post(reverse("book:party_details", args=[party.pk]), {**good, **typed})


def test_details_are_put_right_and_found_by_the_new_number(twice, as_office):
    party = owner_of(twice[0])
    assert as_office.get(reverse("book:party_details", args=[party.pk])).status_code == 200
    before = told()
    assert details(as_office, party).status_code == 302
    assert party.contacts.first().phone == "+999 555 010 177"
    assert kinds(before) == ["customers.changed"]
    assert "+999 555 010 118" in Event.objects.get(kind="customers.changed").payload
    index.catch_up()
    assert search.find("010 177").parties == [party]
    assert search.find("010 118").parties == []


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "No name."),
        ({"name": "x" * 10_000}, "10,000 characters."),
        ({"contact_name": ""}, "Write who answers there."),
        ({"contact_email": "x"}, "That is no mail address."),
        ({"kind": "club"}, "Choose one"),
    ],
)
def test_details_that_cannot_be_are_refused_and_kept(twice, as_office, typed, sentence):
    party, before = owner_of(twice[0]), told()
    answer = details(as_office, party, **{"note": HOSTILE, **typed})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in text
    assert HOSTILE not in text
    assert "&lt;script&gt;" in text
    assert told() == before
