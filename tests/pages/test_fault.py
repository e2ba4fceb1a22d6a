"""Calm pages. Error words of SQLite: sqlite.org/rescode.html (BUSY, READONLY, FULL); of PostgreSQL: Appendix A and from memory."""

import errno
import logging
import re

import pytest
from django.core.exceptions import PermissionDenied
from django.db import InterfaceError, OperationalError, connection
from django.http import HttpResponseNotAllowed
from django.test import RequestFactory

from workshop.pages import errors
from workshop.pages.middleware import calm_faults

NUMBER = re.compile(r"fault ([0-9A-F]{2}-\d{3})")


def said(response):
    return " ".join(re.sub(r"<[^>]+>", " ", response.content.decode()).split())


def raised(error, call):
    try:
        raise error
    except type(error):
        return call()


def test_a_fault_has_a_number_that_stands_in_the_log(caplog):
    request = RequestFactory().get("/m/card/1/")
    with caplog.at_level(logging.ERROR, "workshop.fault"):
        response = raised(KeyError("wrench"), lambda: errors.fault(request))
    number = NUMBER.search(said(response))[1]
    assert response.status_code == 500
    assert f"fault {number}: GET /m/card/1/" in caplog.text
    assert "KeyError" in caplog.text
    assert "Nothing was changed" in said(response)
    assert "wrench" not in said(response)


def test_a_fault_on_saving_does_not_promise_what_it_cannot_know():
    response = raised(KeyError("x"), lambda: errors.fault(RequestFactory().post("/m/card/1/close/")))
    assert "saved whole or not at all" in said(response)


def test_a_fault_page_asks_nothing_of_the_database():
    response = raised(KeyError("x"), lambda: errors.fault(RequestFactory().get("/")))
    assert response.status_code == 500  # pytest-django refuses any query in this test


@pytest.mark.parametrize(
    ("error", "title"),
    [
        (OperationalError("database is locked"), "The records are busy"),
        (OperationalError("attempt to write a readonly database"), "The records cannot be written"),
        (OperationalError("database or disk is full"), "The server is full"),
        (OperationalError("unable to open database file"), "The records cannot be reached"),
        (OperationalError("deadlock detected\nDETAIL: Process 7 waits"), "The records are busy"),
        (OperationalError("connection to server at 127.0.0.1 failed: Connection refused"), "The records cannot be reached"),
        (OperationalError('could not extend file "base/1": No space left on device'), "The server is full"),
        (InterfaceError("connection already closed"), "The records cannot be reached"),
        (OSError(errno.ENOSPC, "No space left on device"), "The server is full"),
    ],
)
def test_trouble_with_the_records_is_a_503_that_says_nothing_was_changed(error, title, caplog):
    middleware = calm_faults(lambda request: None)
    response = middleware.process_exception(RequestFactory().post("/m/card/1/close/"), error)
    assert response.status_code == 503
    assert response["Retry-After"] == "5"
    assert title in said(response)
    assert "Nothing was changed" in said(response)
    assert f"fault {NUMBER.search(said(response))[1]}" in caplog.text


@pytest.mark.parametrize("error", [KeyError("x"), OperationalError("no such table: jobs_card"), PermissionDenied(), FileNotFoundError()])
def test_other_errors_are_not_taken_for_trouble_with_the_records(error):
    assert calm_faults(lambda request: None).process_exception(RequestFactory().get("/"), error) is None


@pytest.mark.sqlite_only  # PRAGMA query_only
@pytest.mark.django_db
def test_a_real_read_only_database_is_recognised():
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA query_only = ON")
        try:
            with pytest.raises(OperationalError) as refused:
                cursor.execute("DELETE FROM django_session")
        finally:
            cursor.execute("PRAGMA query_only = OFF")
    assert errors.trouble_of(refused.value) is errors.READ_ONLY


def test_a_fault_before_the_view_is_told_as_what_it_was():
    response = raised(OperationalError("database is locked"), lambda: errors.fault(RequestFactory().get("/")))
    assert response.status_code == 503


@pytest.mark.django_db
def test_an_address_nobody_answers_is_a_calm_404(client):
    response = client.get("/there/is/no/such/sheet/")
    assert response.status_code == 404
    assert "Nothing here" in said(response)
    assert 'data-page="pages:fault"' in response.content.decode()


@pytest.mark.django_db
def test_a_stale_form_is_told_what_to_do(client):
    client.handler.enforce_csrf_checks = True
    response = client.post("/light/", {"light": "night"})
    assert response.status_code == 403
    assert "This page was too old" in said(response)


def test_a_wrong_method_gets_a_page_and_keeps_allow():
    request = RequestFactory().get("/light/")
    response = calm_faults(lambda request: HttpResponseNotAllowed(["POST"]))(request)
    assert response.status_code == 405
    assert response["Allow"] == "POST"
    assert "only takes what a button sends" in said(response)


def test_htmx_gets_a_piece_for_the_place_the_base_page_keeps():
    request = RequestFactory().post("/m/card/1/close/", headers={"HX-Request": "true"})
    response = calm_faults(lambda request: None).process_exception(request, OperationalError("database is locked"))
    assert response["HX-Reswap"] == "none"
    assert '<div id="fault" hx-swap-oob="innerHTML">' in response.content.decode()
    assert "<html" not in response.content.decode()


@pytest.mark.django_db
def test_the_page_itself(client):
    assert client.get("/fault/").status_code == 200
