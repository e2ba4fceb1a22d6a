"""company:wordings and company:wording, the texts of the business by version."""

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from tests.company.sheets import HOSTILE, OTHERS, form_of, lines, send, text, told
from workshop.company import actions, queries
from workshop.company.models import Wording
from workshop.history.actions import Actor

ALL, TERMS = reverse("company:wordings"), reverse("company:wording", args=["terms"])
TESTER = Actor.system("tester")
pytestmark = pytest.mark.usefixtures("company")


def test_the_next_version_follows_and_the_older_ones_stay(as_owner):
    actions.write_wording(TESTER, "terms", "Pay within 14 days.")
    before = told()
    assert send(as_owner, TERMS, text="Pay within 30 days.\r\nParts stay ours.").headers["Location"] == ALL
    assert lines(before) == ["company.worded"]
    assert [(w.no, w.text) for w in queries.wordings("terms")] == [(2, "Pay within 30 days.\nParts stay ours."), (1, "Pay within 14 days.")]
    page = text(as_owner.get(TERMS))
    assert "Pay within 14 days." in page and "version 3" in page
    assert "version 2" in text(as_owner.get(ALL)) and "not written" in text(as_owner.get(ALL))


def test_a_text_that_no_sheet_prints_is_still_shown(as_owner):
    actions.write_wording(TESTER, "order", "An old text.")
    assert "On file, printed nowhere" in text(as_owner.get(ALL)) and "An old text." in text(as_owner.get(ALL))


@pytest.mark.parametrize("kind", queries.WORDINGS)
def test_each_kind_has_its_sheet(as_owner, kind):
    assert as_owner.get(reverse("company:wording", args=[kind])).status_code == 200


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"text": ""}, "Nothing written. A version needs words."),
        ({"text": None}, "Nothing written. A version needs words."),
        ({"text": "x" * 10_000}, "10,000 characters. At most 8,000: shorten it."),
        ({"text": "Pay within 14 days."}, "This is word for word version 1. There is nothing new to write."),
        ({"text": "Pay\x00"}, "There is a sign in it that no paper can print"),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(as_owner, typed, sentence):
    actions.write_wording(TESTER, "terms", "Pay within 14 days.")
    before = told()
    answer = send(as_owner, TERMS, **typed)
    assert answer.status_code == 422
    assert sentence in text(answer)
    assert (told(), Wording.objects.count()) == (before, 1)


def test_sent_twice_is_one_version(as_owner):
    typed = form_of(as_owner, TERMS) | {"text": "Pay at once."}
    assert [as_owner.post(TERMS, typed).status_code for _ in range(2)] == [302, 422]
    assert Wording.objects.count() == 1


def test_a_version_that_somebody_else_wrote_meanwhile_is_read_first(as_owner):
    typed = form_of(as_owner, TERMS) | {"text": "Pay at once."}
    actions.write_wording(TESTER, "terms", "Pay within 14 days.")
    answer = as_owner.post(TERMS, typed)
    assert answer.status_code == 422
    for words in ("Version 1 was written after you opened this sheet.", "Pay within 14 days.", "Pay at once.", "Write version 2"):
        assert words in text(answer)


def test_hostile_words_stay_words(as_owner):
    assert send(as_owner, TERMS, text=HOSTILE).status_code == 302
    assert HOSTILE not in as_owner.get(ALL).content.decode() and HOSTILE in text(as_owner.get(ALL))


@pytest.mark.parametrize("who", OTHERS)
def test_others_write_nothing(request, who):
    assert request.getfixturevalue(who).post(TERMS, {"text": "x", "seen": "0"}).status_code == 403
    assert not Wording.objects.exists()


@pytest.mark.parametrize("sql", ["UPDATE company_wording SET text = 'other'", "DELETE FROM company_wording"])
def test_a_version_is_never_changed(sql):
    actions.write_wording(TESTER, "terms", "Thirty days.")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)
