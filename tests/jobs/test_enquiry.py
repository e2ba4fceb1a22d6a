"""jobs:enquiry, a new card."""

import uuid

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, a_uid, dairy_card, kinds, told
from workshop.customers.models import Approver, Party
from workshop.jobs.models import Card, Role
from workshop.vehicles.models import Vehicle

ENQUIRY = "/m/new/"
GOOD = {
    "kind": "private",
    "name": "Osgood Plumtree",
    "phone": "+999 555 010 117",
    "email": "osgood@plumtree.example",
    "address": "2 Quadrant Lane",
    "make": "Ostrel",
    "model": "Wander 28",
    "plate": "vm 00 demo-2",
    "vin": "",
    "words": "Make it so I come home.",
    "place": "His driveway, gravel",
    "due_at": "2026-11-25T14:30",
    "moves": "drives",
}


def sent(client, **typed):
    return client.post(ENQUIRY, {**GOOD, "uid": a_uid(), **typed})


def test_it_is_where_its_name_says(company, as_mechanic):
    assert reverse("jobs:enquiry") == ENQUIRY
    assert as_mechanic.get(ENQUIRY).status_code == 200


@pytest.mark.parametrize("who", ["as_owner", "as_mechanic", "as_office"])
def test_customer_vehicle_and_words_become_a_card_with_a_number(company, request, who):
    before = told()
    answer = sent(request.getfixturevalue(who))
    card = Card.objects.get()
    assert answer.headers["Location"] == reverse("jobs:card", args=[card.pk])
    assert card.number
    assert (card.vehicle.plate, card.moves) == ("VM 00 DEMO-2", "drives")
    assert {role.kind for role in card.roles.all()} == set(Role.Kind.values)
    assert kinds(before) == ["jobs.enquiry_taken"]


def test_the_same_page_sent_twice_is_one_card(company, as_mechanic):
    uid, before = a_uid(), told()
    first, second = sent(as_mechanic, uid=uid), sent(as_mechanic, uid=uid)
    assert first.headers["Location"] == second.headers["Location"]
    assert (Card.objects.count(), Party.objects.count(), Vehicle.objects.count()) == (1, 1, 1)
    assert len(kinds(before)) == 1


def test_somebody_else_pays_and_says_yes(company, as_mechanic):
    sent(as_mechanic, payer_name="Plumtree Maps", approver_name="Hester Plumtree", approver_limit="1,234.50")
    card = Card.objects.get()
    assert card.roles.get(kind="payer").party.name == "Plumtree Maps"
    assert card.roles.get(kind="approver").contact.name == "Hester Plumtree"
    assert str(Approver.objects.get().limit_gross) == "1234.50"


def test_a_known_customer_brings_the_vehicles(company, as_mechanic):
    known = dairy_card()
    party = known.roles.get(kind="owner").party
    page = as_mechanic.get(ENQUIRY, {"customer": party.pk})
    assert "Tolvar Hodbearer 35 VM 00 DEMO-1" in page.content.decode()
    sent(as_mechanic, customer=party.pk, vehicle=known.vehicle.pk, make="", model="", plate="")
    card = Card.objects.exclude(pk=known.pk).get()
    assert (card.vehicle, card.roles.get(kind="owner").party, Party.objects.count()) == (known.vehicle, party, 1)


def test_a_known_customer_is_found_by_name(company, as_mechanic):
    dairy_card()
    assert "Churnholt Valley Dairy" in as_mechanic.get(ENQUIRY, {"q": "churnholt"}).content.decode()


@pytest.mark.parametrize("customer", ["987654321", "x", "-1", "9" * 40])
def test_a_customer_that_is_not_there_is_a_404(company, as_mechanic, customer):
    assert as_mechanic.get(ENQUIRY, {"customer": customer}).status_code == 404


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "No name."),
        ({"name": "  "}, "No name."),
        ({"phone": ""}, "No number."),
        ({"email": "osgood at plumtree"}, "That is no mail address."),
        ({"name": "x" * 10_000}, "10,000 characters. At most 120"),
        ({"words": ""}, "Nothing written."),
        ({"words": "x" * 10_000}, "10,000 characters. At most 2,000"),
        ({"make": ""}, "No make."),
        ({"vin": "DEM0TLVR35000117"}, "16 characters. A VIN has 17 and no I, O or Q."),
        ({"vin": "DEMOTLVR350000117"}, "17 characters. A VIN has 17 and no I, O or Q."),
        ({"vin": "1" * 25, "old_frame": "on"}, "25 characters. A frame number has at most 20"),
        ({"due_at": "tomorrow"}, "That is no day and time."),
        ({"kind": "club"}, "Choose one: private or firm."),
        ({"moves": "flies"}, "Choose one, or none."),
        ({"approver_limit": "1e9"}, "1e9 is not an amount"),
        ({"approver_limit": "1000000000"}, "too large"),
        ({"stop_signs": "wings"}, "That is no stop sign."),
        ({"limit_gross": "much"}, "much is not an amount"),
        ({"aim": "x" * 10_000}, "10,000 characters. At most 200"),
        ({"recalls_checked": "on", "recalls_on": "2026-11-20"}, "Checked where?"),
        ({"recalls_checked": "on", "recalls_on": "", "recalls_source": "register"}, "Checked when?"),
        ({"recalls_checked": "on", "recalls_on": "2999-01-01", "recalls_source": "register"}, "still to come"),
        ({"recalls_checked": "on", "recalls_on": "soon", "recalls_source": "register"}, "That is no day."),
        ({"recalls_source": "register"}, "Tick that recalls were checked"),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    before = told()
    answer = sent(as_mechanic, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "Make it so I come home." in answer.content.decode() or "words" in typed
    assert (Card.objects.count(), Party.objects.count(), told()) == (0, 0, before)


def test_an_older_frame_number_is_taken_as_it_is(company, as_mechanic):
    assert sent(as_mechanic, vin="QI 1234", old_frame="on").status_code == 302
    assert Vehicle.objects.get().vin == "QI1234"


def test_what_was_typed_comes_back_inert(company, as_mechanic):
    answer = sent(as_mechanic, name=HOSTILE, phone="")
    assert HOSTILE not in answer.content.decode()
    assert "&lt;script&gt;" in answer.content.decode()


def test_the_bookkeeper_gets_a_calm_403(company, as_bookkeeper):
    assert sent(as_bookkeeper).status_code == 403
    assert not Card.objects.exists()


def test_aim_use_limit_and_recalls_stand_on_the_card(company, as_mechanic):
    asked = {"aim": "Home by Friday", "used_for": "Milk round", "limit_gross": "450,00"}
    asked |= {"recalls_checked": "on", "recalls_on": "2026-11-20", "recalls_source": "the maker’s page"}
    text = as_mechanic.get(sent(as_mechanic, **asked).headers["Location"]).content.decode()
    for said in ("Home by Friday", "Milk round", "up to 450.00", "2026-11-20", "the maker’s page"):
        assert said in text


def test_a_stop_sign_says_do_not_drive_in_the_same_breath(company, as_mechanic):
    before = told()
    answer = sent(as_mechanic, stop_signs=["runaway", "oil"])
    card = Card.objects.get()
    assert (card.drive_advice, card.stop_signs) == ("do_not", "oil,runaway")
    assert kinds(before) == ["jobs.enquiry_taken"]
    text = as_mechanic.get(answer.headers["Location"]).content.decode()
    assert "Do not drive. Told by the caller: oil pressure, engine runs away." in text
    assert "Tell the caller now: do not drive it" in text


def test_a_check_digit_that_does_not_fit_only_warns_when_it_is_saved(company, as_mechanic):
    """49 CFR 565.15(c): seventeen ones fit (the standard's usual test number); with a 2 in place 9 they do not."""
    fits = as_mechanic.get(sent(as_mechanic, vin="1" * 17).headers["Location"]).content.decode()
    assert "Read the number again" not in fits
    doubted = as_mechanic.get(sent(as_mechanic, vin="11111111211111111").headers["Location"]).content.decode()
    assert "Place 9 is 2" in doubted
    assert Vehicle.objects.filter(vin="11111111211111111").exists()


def test_two_pages_at_one_instant_are_one_card(company, monkeypatch):
    """The second one finds no card when it looks, and the first one's when it writes."""
    uid, real, looks = uuid.uuid4(), Card.objects.filter, []
    first, before = dairy_card(uid=uid), told()

    def late(**what):
        looks.append(what)
        return real(**what) if len(looks) > 1 else Card.objects.none()

    monkeypatch.setattr(Card.objects, "filter", late)
    assert dairy_card(uid=uid) == first
    assert (Card.objects.count(), Party.objects.count(), told()) == (1, 1, before)


@pytest.mark.parametrize("box", ["phone", "approver_phone"])
def test_a_number_without_a_figure_is_refused_beside_its_box(company, as_mechanic, box):
    answer = sent(as_mechanic, **{box: "at the gate"})
    assert answer.status_code == 422
    assert "“at the gate” has no figure." in answer.content.decode()
    assert Card.objects.count() == 0


@pytest.mark.parametrize("year", ["0203", "2060", "1999"])
def test_a_day_that_is_far_off_is_a_slip_of_the_finger(company, as_mechanic, year):
    answer = sent(as_mechanic, due_at=f"{year}-11-25T14:30")
    assert answer.status_code == 422
    assert "more than 20 years off" in answer.content.decode()
    assert Card.objects.count() == 0
