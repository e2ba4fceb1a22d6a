"""The command reset_password: for an owner who locked the door from inside."""

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from workshop.company.management.commands import reset_password
from workshop.history.models import Event
from workshop.staff.models import User

NEW = "lantern yard at dusk"


def typed(monkeypatch: pytest.MonkeyPatch, *words: str) -> None:
    left = iter(words)
    monkeypatch.setattr(reset_password, "getpass", lambda _: next(left))


def test_the_new_password_opens_and_every_sign_in_has_ended(monkeypatch: pytest.MonkeyPatch, owner: User, as_owner: Client) -> None:
    assert as_owner.get(reverse("company:people")).status_code == 200
    User.objects.filter(pk=owner.pk).update(is_active=False)
    typed(monkeypatch, NEW, NEW)
    call_command("reset_password", "Ada")
    owner.refresh_from_db()
    assert owner.check_password(NEW) and owner.is_active
    assert as_owner.get(reverse("company:people")).status_code == 302
    event = Event.objects.get()
    assert event.kind == "company.person_changed"
    assert NEW not in event.payload


@pytest.mark.parametrize(
    ("name", "words", "why"),
    [
        ("eve", (), "Nobody signs in as eve. There are: ada, pip"),
        ("pip", (NEW, NEW + "!"), "The two are not the same"),
        ("pip", ("short", "short"), "Shorter than 15 characters"),
    ],
)
def test_a_refusal_changes_nothing(
    monkeypatch: pytest.MonkeyPatch, owner: User, mechanic: User, name: str, words: tuple[str, ...], why: str
) -> None:
    before = list(User.objects.order_by("pk").values())
    typed(monkeypatch, *words)
    with pytest.raises(CommandError, match=why):
        call_command("reset_password", name)
    assert list(User.objects.order_by("pk").values()) == before
    assert not Event.objects.exists()
