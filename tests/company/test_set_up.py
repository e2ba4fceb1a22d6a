"""The command set_up: an empty place becomes a business with its owner, or nothing happens."""

import pytest
from django.core.management import CommandError, call_command

from workshop.company.models import Company
from workshop.history.models import Event
from workshop.staff.models import User

TOLD = {"name": "Quillfeather Mobile Diesel", "address": "4 Lantern Yard", "phone": "+999 555 010 117", "owner": "ada"}
COMMAND = "workshop.company.management.commands.set_up"


@pytest.fixture
def password(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(f"{COMMAND}.getpass", lambda _: "lantern yard at dusk")


@pytest.mark.django_db
def test_the_owner_can_sign_in_and_is_the_owner(password: None) -> None:
    call_command("set_up", tax_profile="vellmark", **TOLD)
    owner = User.objects.get(username="ada")
    assert owner.role == "owner"
    assert owner.check_password("lantern yard at dusk")
    assert Company.objects.get().currency == "EUR"
    assert [event.kind for event in Event.objects.all()] == ["company.set_up", "company.person_added"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("profile", "typed", "why"), [("nowhere", "lantern yard at dusk", "no tax profile"), ("vellmark", "short", "Nothing was set up")]
)
def test_a_refusal_leaves_nothing(monkeypatch: pytest.MonkeyPatch, profile: str, typed: str, why: str) -> None:
    monkeypatch.setattr(f"{COMMAND}.getpass", lambda _: typed)
    with pytest.raises(CommandError, match=why):
        call_command("set_up", tax_profile=profile, **TOLD)
    assert not Company.objects.exists()
    assert not User.objects.exists()
    assert not Event.objects.exists()
