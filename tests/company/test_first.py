"""company:first, the one page that opens before anybody can sign in: once, for a day, by the address from the console."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from tests import homes
from tests.company.sheets import HOSTILE, SHEETS, text
from workshop import clock
from workshop.company import actions
from workshop.company.models import Company, TaxRate
from workshop.history.models import Event
from workshop.links.models import Link
from workshop.staff.models import User

TYPED = {
    "name": "Quillfeather Mobile Diesel",
    "address": "4 Lantern Yard\nVellmark",
    "phone": "+999 555 010 117",
    "email": "ada@quillfeather.example",
    "tax_profile_name": "australia",
    "tax_number": "51824753556",
    "country": "",
    "currency": "",
    "first_name": "Ada",
    "last_name": "Quillfeather",
    "username": "Ada",
    "password": "lantern yard at dusk",
}


@pytest.fixture
def address(db: None) -> str:
    return actions.offer_first().removeprefix("http://127.0.0.1:8000")


def made() -> tuple[int, int, int, int]:
    return Company.objects.count(), User.objects.count(), TaxRate.objects.count(), Event.objects.count()


def test_the_page_makes_the_business_and_its_owner_who_can_sign_in(address: str, client: Client) -> None:
    assert client.get(address).status_code == 200
    answer = client.post(address, TYPED, follow=True)
    assert answer.redirect_chain == [(reverse("account_login"), 302)]
    assert "The business is set up." in text(answer)
    company, owner = Company.objects.get(), User.objects.get()
    assert (company.name, company.country, company.currency, company.tax_number) == (TYPED["name"], "Australia", "AUD", "51 824 753 556")
    assert (owner.username, owner.role, str(owner)) == ("ada", "owner", "Ada Quillfeather")
    assert [event.kind for event in Event.objects.all()] == ["company.set_up", "company.person_added"]
    assert client.login(username="ada", password=TYPED["password"])


def test_used_up_it_is_a_calm_page_and_makes_nothing(address: str, client: Client) -> None:
    client.post(address, TYPED)
    before = made()
    for answer in (client.get(address), client.post(address, {**TYPED, "username": "eve"})):
        assert answer.status_code == 404
        assert "Set up already" in text(answer)
        assert TYPED["name"] not in text(answer)
    assert made() == before


def test_without_the_token_it_says_where_the_address_stands(db: None, client: Client) -> None:
    link = actions.offer_first()
    for where in ("/company/first/", "/company/first/" + "x" * 43 + "/", "/company/first/%00/", "/company/first/" + "x" * 5000 + "/"):
        for answer in (client.get(where), client.post(where, TYPED)):
            assert answer.status_code == 404
            assert "stands on the console of the server" in text(answer)
            assert link.rsplit("/", 2)[1] not in answer.content.decode()
    assert "Not set up yet" in text(client.get(reverse("account_login")))
    assert not Company.objects.exists()


def test_an_old_address_and_one_before_the_last_are_dead(address: str, client: Client) -> None:
    newer = actions.offer_first().removeprefix("http://127.0.0.1:8000")
    assert client.post(address, TYPED).status_code == 404
    with clock.frozen(clock.now() + dt.timedelta(hours=24, seconds=1)):
        assert client.post(newer, TYPED).status_code == 404
    assert made() == (0, 0, 0, 0)
    assert client.get(newer).status_code == 200


def test_of_the_token_only_the_hash_is_kept(address: str) -> None:
    token = address.split("/")[3]
    assert len(token) == 43  # 256 bits
    assert token not in str(Link.objects.values())


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "No name. Write what stands on your paper."),
        ({"name": None}, "No name. Write what stands on your paper."),
        ({"name": "x" * 10_000}, "10,000 characters. At most 120: shorten it."),
        ({"address": "  "}, "No address. Every paper needs one."),
        ({"phone": ""}, "No number. Customers call it from every page."),
        ({"email": "ada at quillfeather"}, "That is no mail address."),
        ({"tax_profile_name": ""}, "Choose one. It cannot be changed later."),
        ({"tax_profile_name": "vellmark"}, "Choose one. It cannot be changed later."),
        ({"tax_profile_name": "../accounts/australia"}, "Choose one. It cannot be changed later."),
        ({"tax_number": "11223493504"}, "The check figures of this ABN do not fit"),
        ({"tax_profile_name": "unregistered"}, "No country. It stands on your paper."),
        ({"tax_profile_name": "unregistered", "country": "Vellmark", "currency": "€"}, "Three letters, like EUR or AUD"),
        ({"first_name": ""}, "No name. Write who the owner is."),
        ({"username": "two words"}, "2 to 30 letters or figures without blanks"),
        ({"password": ""}, "No password."),
        ({"password": "short"}, "Shorter than 15 characters."),
        ({"password": "quillfeatherquillfeather", "last_name": "quillfeatherquillfeather"}, "Too near to the name."),
        ({"name": "a\x07b"}, "There is a sign in it that no paper can print."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_makes_nothing(address: str, client: Client, typed: dict[str, str], sentence: str) -> None:
    sent = {name: value for name, value in {**TYPED, **typed}.items() if value is not None}
    answer = client.post(address, sent)
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert made() == (0, 0, 0, 0)
    assert TYPED["password"] not in answer.content.decode()
    assert "ada@quillfeather.example" in text(answer) or "email" in typed
    assert client.post(address, TYPED).status_code == 302  # a refusal does not use the address up


@pytest.mark.parametrize("words", [HOSTILE, SHEETS])
def test_hostile_words_stay_words(address: str, client: Client, words: str) -> None:
    assert words not in client.post(address, {**TYPED, "name": words, "password": ""}).content.decode()
    assert client.post(address, {**TYPED, "name": words}).status_code == 302
    assert Company.objects.get().name == words


def test_a_business_without_registration_brings_country_and_money(address: str, client: Client) -> None:
    typed = {"tax_profile_name": "unregistered", "tax_number": "", "country": "Vellmark", "currency": "eur"}
    assert client.post(address, {**TYPED, **typed}).status_code == 302
    company = Company.objects.get()
    assert (company.country, company.currency, TaxRate.objects.exists()) == ("Vellmark", "EUR", False)


@pytest.mark.parametrize("who", ["company", "owner"])
def test_no_address_is_offered_where_somebody_is(who: str, address: str, client: Client, request: pytest.FixtureRequest) -> None:
    request.getfixturevalue(who)
    assert actions.offer_first() == ""
    assert client.get(address).status_code == 404


BEGIN = """
import sys, time
from tests.company.test_first import TYPED
from django.test import Client
address, name, at = sys.argv[1:]
client = Client()
client.get("/robots.txt")
while time.time() < float(at):
    pass
print(name, client.post(address, {**TYPED, "username": name}).status_code, flush=True)
"""


@pytest.mark.slow
@pytest.mark.both_databases
def test_of_two_at_once_one_comes_through(tmp_path_factory: pytest.TempPathFactory) -> None:
    import subprocess
    import sys
    import time

    from django.conf import settings

    with homes.place(tmp_path_factory.mktemp("first")) as surroundings:
        homes.django(surroundings, "migrate", "-v0")
        offered = "from workshop.company import actions; print(actions.offer_first())"
        address = homes.django(surroundings, "shell", "-v0", "-c", offered).stdout.strip().removeprefix("http://127.0.0.1:8000")
        code, at = f"import django; django.setup()\n{BEGIN}", str(time.time() + 6)
        both = [
            subprocess.Popen(
                [sys.executable, "-c", code, address, name, at], env=surroundings, cwd=settings.BASE_DIR, stdout=subprocess.PIPE, text=True
            )
            for name in ("ada", "eve")
        ]
        said = sorted(process.communicate(timeout=120)[0].split()[-1] for process in both)
        assert said == ["302", "404"]
        found = "from django.apps import apps; print(*(apps.get_model(m).objects.count() for m in ('staff.User', 'company.Company')))"
        assert homes.django(surroundings, "shell", "-v0", "-c", found).stdout.split() == ["1", "1"]
