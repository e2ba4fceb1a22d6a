import pytest
from django.core.management import CommandError, call_command

from workshop.pages.where import NoSuchPage, where


def test_a_page_is_found_by_its_address():
    found = dict(where("/fault/"))
    assert found["page"] == "pages:fault"
    file, line = found["view"].split(":")
    assert file == "workshop/pages/views.py"
    assert int(line) > 1
    assert found["template"] == "templates/pages/fault.html"
    assert found["style"] == "static/pages/base.css"
    assert found["script"] == ""
    assert found["test"] == "tests/pages/test_fault.py"


@pytest.mark.parametrize("address", ["fault/", "/fault/?x=1", "http://127.0.0.1:8000/fault/#top"])
def test_an_address_may_be_copied_from_anywhere(address):
    assert dict(where(address))["page"] == "pages:fault"


def test_the_command_prints_what_is_there(capsys):
    call_command("where", "/fault/")
    printed = capsys.readouterr().out
    assert "template templates/pages/fault.html" in printed
    assert "script" not in printed


def test_a_sign_in_page_is_found_too():
    found = dict(where("/accounts/login/"))
    assert found["page"] == "account_login"
    assert found["template"] == "templates/account/login.html"


def test_an_address_nobody_answers():
    with pytest.raises(NoSuchPage, match="No page answers at /nowhere/"):
        list(where("/nowhere/"))
    with pytest.raises(CommandError):
        call_command("where", "/nowhere/")
