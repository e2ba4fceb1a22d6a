"""company:identity, what stands on paper."""

import json

import pytest
from django.urls import reverse

from tests.company.sheets import HOSTILE, SHEETS, form_of, lines, send, text, told
from workshop.company import actions
from workshop.company.forms import checked_number
from workshop.company.models import Company
from workshop.history.actions import Actor
from workshop.history.models import Event

ADDRESS = reverse("company:identity")


def on_file():
    return Company.objects.values().get()


def test_what_changed_is_saved_and_told_in_one_line(company, as_owner):
    before = told()
    answer = send(as_owner, ADDRESS, bank_details="Lantern Bank, VM00 2", quote_days="10", paper_foot="Parts stay ours until paid.")
    assert answer.headers["Location"] == reverse("company:settings")
    assert lines(before) == ["company.changed"]
    payload = json.loads(Event.objects.last().payload)
    assert payload["what"] == "bank details, days a quote is open, line above the foot"
    assert payload["was"]["bank_details"] == "Lantern Bank, VM00 0000 0000 0001"
    assert (on_file()["quote_days"], on_file()["paper_foot"]) == (10, "Parts stay ours until paid.")
    assert "Saved: bank details" in text(as_owner.get("/company/"))


def test_nothing_new_is_nothing_written(company, as_owner):
    before = told()
    assert send(as_owner, ADDRESS).status_code == 302
    assert lines(before) == []


def test_the_same_page_sent_twice_counts_once(company, as_owner):
    typed, before = form_of(as_owner, ADDRESS) | {"phone": "+999 555 010 199"}, told()
    assert [as_owner.post(ADDRESS, typed).status_code for _ in range(2)] == [302, 302]
    assert lines(before) == ["company.changed"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "No name. Write what stands on your paper."),
        ({"name": None}, "No name. Write what stands on your paper."),
        ({"address": "   "}, "No address. Every paper needs one."),
        ({"phone": ""}, "No number. Customers call it from every page."),
        ({"name": "x" * 10_000}, "10,000 characters. At most 120: shorten it."),
        ({"email": "ada at quillfeather"}, "That is no mail address. It looks like name@place.example."),
        ({"payment_days": "365"}, "365 is not from 0 to 180."),
        ({"payment_days": "-3"}, "type the amount without a minus"),
        ({"quote_days": "0"}, "0 is not from 1 to 180."),
        ({"quote_days": "1e9"}, "1e9 is not an amount"),
        ({"quote_days": ""}, "Empty. Write a number from 1 to 180."),
        ({"licence_line": "VM\u202e1744"}, "There is a sign in it that no paper can print."),
        ({"paper_foot": "a\x07b"}, "There is a sign in it that no paper can print."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_owner, typed, sentence):
    before, was = told(), on_file()
    answer = send(as_owner, ADDRESS, **{"licence_line": "Licence VM-9999", **typed})
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert "Licence VM-9999" in text(answer) or "licence_line" in typed
    assert (told(), on_file()) == (before, was)


def test_what_somebody_else_saved_meanwhile_is_shown_first(company, as_owner):
    typed = form_of(as_owner, ADDRESS) | {"phone": "+999 555 010 100"}
    actions.change_identity(Actor.system("another"), phone="+999 555 010 777")
    before = told()
    answer = as_owner.post(ADDRESS, typed)
    assert answer.status_code == 422
    assert "Somebody saved this sheet after you opened it. On file now: telephone: +999 555 010 777." in text(answer)
    assert "+999 555 010 100" in text(answer)
    assert lines(before) == []
    from lxml import html

    again = typed | {"seen": html.fromstring(answer.content.decode()).xpath("string(//input[@name='seen']/@value)")}
    assert as_owner.post(ADDRESS, again).status_code == 302
    assert on_file()["phone"] == "+999 555 010 100"


def test_a_sheet_that_says_not_what_it_showed_is_out_of_date(company, as_owner):
    assert send(as_owner, ADDRESS, seen=None, phone="1").status_code == 422
    assert send(as_owner, ADDRESS, seen="x" * 16, phone="1").status_code == 422
    assert send(as_owner, ADDRESS, seen="x" * 9000, phone="1").status_code == 422
    assert on_file()["phone"] == "+999 555 010 117"


@pytest.mark.parametrize("words", [HOSTILE, SHEETS])
def test_hostile_words_stay_words(company, as_owner, words):
    assert send(as_owner, ADDRESS, name=words, phone="").status_code == 422
    assert send(as_owner, ADDRESS, name=words, licence_line="a\nBcc: b").status_code == 302
    assert words not in as_owner.get("/company/").content.decode()
    assert words in text(as_owner.get("/company/"))
    assert on_file()["licence_line"] == "a Bcc: b"


# Published list of good and bad numbers: the Australia page of docs.oracle.com, release 24c. 51 824 753 556 from memory.
@pytest.mark.parametrize(
    "number", ["11223491505", "20561300000", "31010111200", "90000100000", "60231941111", "65118220001", "51 824 753 556"]
)
def test_a_good_abn_is_taken_and_grouped(number):
    assert checked_number(number, "ABN", "au.abn").replace(" ", "") == number.replace(" ", "")
    assert checked_number("51824753556", "ABN", "au.abn") == "51 824 753 556"


@pytest.mark.parametrize(
    ("number", "sentence"),
    [
        ("11223493504", "The check figures of this ABN do not fit"),
        ("1122349150", "10 characters. That is not how long an ABN is"),
        ("AR1234567", "ABN is"),
        ("51 824 753 55X", "That is not how an ABN is written"),
    ],
)
def test_a_wrong_abn_is_refused_beside_its_box(as_owner, number, sentence):
    actions.set_up(Actor.system("t"), name="A", address="B", phone="1", tax_profile_name="australia")
    answer = send(as_owner, ADDRESS, tax_number=number)
    assert answer.status_code == 422
    assert sentence in text(answer) and number in text(answer)
    assert Company.objects.get().tax_number == ""


def test_vellmark_has_no_check_figures():
    assert checked_number("VM 1", "Tax number", "") == "VM 1"
