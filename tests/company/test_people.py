"""company:people, company:person_new and company:person: who signs in, and with which role."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.company.sheets import HOSTILE, OTHERS, asked, form_of, lines, send, text, told
from workshop.company import actions
from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.staff.models import User

PEOPLE, NEW = reverse("company:people"), reverse("company:person_new")
WORD = "four lamps behind the yard"
GOOD = {"first_name": "Wim", "last_name": "Oakhollow", "username": "wim", "role": "mechanic", "password": WORD}


def sheet(user):
    return reverse("company:person", args=[user.pk])


def on_file():
    return list(User.objects.order_by("pk").values())


def test_everybody_stands_in_the_list_with_the_role(as_owner, mechanic, bookkeeper):
    page = text(as_owner.get(PEOPLE))
    for words in ("Ada Quillfeather", "Pip Tansley-Vole", "mechanic", "Bram Ledgerley", "signs in as bram"):
        assert words in page


def test_a_new_person_signs_in_with_the_password_that_nobody_sees_again(as_owner):
    before = told()
    assert send(as_owner, NEW, **GOOD).headers["Location"] == PEOPLE
    assert lines(before) == ["company.person_added"]
    assert Client().login(username="wim", password=WORD)
    wim = User.objects.get(username="wim")
    for page in (PEOPLE, sheet(wim)):
        assert WORD not in as_owner.get(page).content.decode()
    assert WORD not in Event.objects.last().payload


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"first_name": ""}, "No name. Write who it is."),
        ({"username": ""}, "Empty. Write a short name, like ada."),
        ({"username": "wim oak"}, "2 to 30 letters or figures without blanks"),
        ({"username": HOSTILE}, "2 to 30 letters or figures without blanks"),
        ({"username": "ADA"}, "ada is taken. Choose another name to sign in with."),
        ({"username": "x" * 10_000}, "At most 30"),
        ({"role": None}, "Choose one of the four roles."),
        ({"role": "king"}, "Choose one of the four roles."),
        ({"password": ""}, "No password. Write one to hand over."),
        ({"password": "short"}, "Shorter than 15 characters."),
        ({"password": "x" * 201}, "201 characters. At most 200."),
        ({"password": "wim-wim-wim-wim", "username": "wim-wim-wim-wi"}, "Too near to the name."),
        ({"first_name": HOSTILE, "role": None}, "Choose one of the four roles."),
    ],
)
def test_a_new_person_refused_gets_a_sentence_and_changes_nothing(as_owner, typed, sentence):
    before, was = told(), on_file()
    answer = send(as_owner, NEW, **GOOD | typed)
    assert answer.status_code == 422
    assert sentence in text(answer) and "Oakhollow" in text(answer)
    assert WORD not in answer.content.decode() and HOSTILE not in answer.content.decode()
    assert (told(), on_file()) == (before, was)


def test_a_new_person_sent_twice_is_one_person(as_owner):
    assert [as_owner.post(NEW, GOOD).status_code for _ in range(2)] == [302, 422]
    assert User.objects.filter(username="wim").count() == 1


def test_role_name_and_password_are_changed_in_one_line(as_owner, mechanic):
    before = told()
    assert send(as_owner, sheet(mechanic), role="office", last_name="Vole", password=WORD).headers["Location"] == PEOPLE
    assert lines(before) == ["company.person_changed"]
    assert "name Pip Vole, role office, new password" in Event.objects.last().payload
    mechanic.refresh_from_db()
    assert (mechanic.role, mechanic.check_password(WORD)) == ("office", True)


def test_closing_an_account_ends_every_sign_in(as_owner, mechanic, as_mechanic):
    assert as_mechanic.get("/m/").status_code == 200
    assert send(as_owner, sheet(mechanic), is_active=None).status_code == 302
    assert as_mechanic.get("/m/").status_code == 302
    assert not Client().login(username="pip", password="a password for tests")
    assert "closed" in text(as_owner.get(PEOPLE))
    assert send(as_owner, sheet(mechanic), is_active="on").status_code == 302
    assert Client().login(username="pip", password="a password for tests")


def test_a_new_password_ends_every_sign_in_of_that_person_but_ones_own(as_owner, owner, mechanic, as_mechanic):
    send(as_owner, sheet(mechanic), password=WORD)
    assert as_mechanic.get("/m/").status_code == 302
    send(as_owner, sheet(owner), password=WORD)
    assert as_owner.get(PEOPLE).status_code == 200


def test_the_last_owner_stays_owner(as_owner, owner, mechanic):
    was = on_file()
    answer = send(as_owner, sheet(owner), role="mechanic")
    assert answer.status_code == 422
    assert "Ada Quillfeather is the only owner who can sign in and cannot be given another role." in text(answer)
    closed = User.objects.create_user("old", password=WORD, role="owner", is_active=False)
    assert send(as_owner, sheet(owner), role="mechanic").status_code == 422
    closed.delete()
    assert on_file() == was


def test_nobody_closes_oneself(as_owner, owner):
    User.objects.create_user("second", password=WORD, role="owner", first_name="Second")
    before = told()
    answer = send(as_owner, sheet(owner), is_active=None)
    assert answer.status_code == 422
    assert "You cannot close your own account. Another owner can." in text(answer)
    assert (lines(before), User.objects.get(pk=owner.pk).is_active) == ([], True)


def test_a_second_owner_may_step_down_or_be_closed(as_owner, owner):
    second = User.objects.create_user("second", password=WORD, role="owner", first_name="Second")
    assert send(as_owner, sheet(second), role="office").status_code == 302
    with pytest.raises(actions.Refused, match="is the only owner"):
        actions.change_person(Actor.of(second), owner.pk, first_name="Ada", last_name="Quillfeather", role="owner", is_active=False)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"first_name": ""}, "No name. Write who it is."),
        ({"first_name": "x" * 10_000}, "10,000 characters. At most 60"),
        ({"role": "king"}, "Choose one of the four roles."),
        ({"role": None}, "Choose one of the four roles."),
        ({"password": "short"}, "Shorter than 15 characters."),
        ({"password": "123456789987654321"}, "Many people use this one."),
        ({"seen": None, "role": "owner"}, "Somebody changed this sheet after you opened it."),
    ],
)
def test_a_change_refused_gets_a_sentence_and_changes_nothing(as_owner, mechanic, typed, sentence):
    before, was = told(), on_file()
    answer = send(as_owner, sheet(mechanic), **{"last_name": "Oakhollow", **typed})
    assert answer.status_code == 422
    assert sentence in text(answer) and "Oakhollow" in text(answer)
    assert (told(), on_file()) == (before, was)


def test_what_another_owner_changed_meanwhile_is_shown_first(as_owner, mechanic):
    typed = form_of(as_owner, sheet(mechanic)) | {"last_name": "Vole"}
    same = {"first_name": "Pip", "last_name": "Tansley-Vole", "is_active": True}
    actions.change_person(Actor.system("another"), mechanic.pk, role="office", **same)
    answer = as_owner.post(sheet(mechanic), typed)
    assert answer.status_code == 422
    assert "On file now: Pip Tansley-Vole, office, account open." in text(answer)
    assert User.objects.get(pk=mechanic.pk).last_name == "Tansley-Vole"


def test_the_same_change_sent_twice_counts_once(as_owner, mechanic):
    typed, before = form_of(as_owner, sheet(mechanic)) | {"role": "office"}, told()
    assert [as_owner.post(sheet(mechanic), typed).status_code for _ in range(2)] == [302, 302]
    assert lines(before) == ["company.person_changed"]


@pytest.mark.parametrize("who", OTHERS)
def test_others_see_and_change_nobody(request, who, owner):
    client, was = request.getfixturevalue(who), on_file()
    for address in (sheet(owner), NEW, PEOPLE):
        assert client.get(address).status_code == 403
    assert client.post(sheet(owner), {"role": "mechanic"}).status_code == client.post(NEW, GOOD).status_code == 403
    assert [row | {"last_login": None} for row in on_file()] == [row | {"last_login": None} for row in was]


def test_the_list_asks_as_much_for_one_as_for_many(as_owner):
    one = asked(as_owner, PEOPLE)
    for number in range(20):
        User.objects.create_user(f"p{number}", password=WORD)
    assert asked(as_owner, PEOPLE) == one
