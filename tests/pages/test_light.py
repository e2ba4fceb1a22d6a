"""pages:light, the light of the page."""

import pytest

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("light", ["day", "night", "phone"])
def test_a_light_is_kept_and_the_page_comes_back(client, light):
    response = client.post("/light/", {"light": light, "back": "/accounts/login/?next=/m/"})
    assert response.status_code == 302
    assert response["Location"] == "/accounts/login/?next=/m/"
    assert client.cookies["light"].value == light
    page = client.get("/accounts/login/").content.decode()
    assert ('data-theme="' in page) == (light != "phone")
    assert f'value="{light}" aria-pressed="true"' in page


def test_a_light_there_is_not_means_as_the_phone(client):
    client.post("/light/", {"light": "strobe"})
    assert client.cookies["light"].value == "phone"


@pytest.mark.parametrize("elsewhere", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)", ""])
def test_it_never_leads_away(client, elsewhere):
    assert client.post("/light/", {"light": "day", "back": elsewhere})["Location"] == "/"


def test_looking_changes_nothing(client):
    response = client.get("/light/")
    assert response.status_code == 405
    assert "light" not in response.cookies
