import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse
from django.test import RequestFactory

from workshop.pages.headers import LINK_HEADERS, public_headers
from workshop.pages.roles import for_roles, refuse
from workshop.staff.models import User


@for_roles("owner", "bookkeeper")
def books(request):
    """The books."""
    return HttpResponse("the books")


def asked_by(role):
    request = RequestFactory().get("/books/")
    request.user = User(pk=1, username=role, role=role) if role else AnonymousUser()
    return books(request)


def test_a_named_role_gets_in():
    assert asked_by("bookkeeper").content == b"the books"


def test_another_role_gets_a_calm_403_that_says_whose_sheet_it_is():
    response = asked_by("mechanic")
    assert response.status_code == 403
    assert "This sheet is for owner and bookkeeper." in response.content.decode()


def test_a_stranger_is_led_to_the_sign_in():
    response = asked_by(None)
    assert response.status_code == 302
    assert response["Location"].endswith("?next=/books/")


def test_the_table_of_roles_can_be_read_from_the_view():
    assert books.roles == {"owner", "bookkeeper"}
    assert books.__doc__ == "The books."


def test_a_role_there_is_not_is_refused_at_once():
    with pytest.raises(ValueError, match="helper"):
        for_roles("helper")


def test_a_page_by_link_tells_nobody_and_keeps_nothing():
    @public_headers
    def go_ahead(request, token):
        return HttpResponse("a quote")

    response = go_ahead(RequestFactory().get("/q/abc/"), token="abc")
    assert {name: response[name] for name in LINK_HEADERS} == LINK_HEADERS
    assert go_ahead.login_required is False


def test_a_refused_form_is_422():
    response = refuse(RequestFactory().post("/"), "pages/_errors.html", {"form": None})
    assert response.status_code == 422
