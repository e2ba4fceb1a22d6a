"""rounds:row, what is not simply good is written down."""

import re

import pytest
from django.urls import reverse

from tests.inspections.test_finding_new import no_picture, picture
from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, told
from tests.rounds.walks import begun
from workshop.inspections.models import Finding
from workshop.jobs.models import Card
from workshop.photos.models import Photo
from workshop.rounds import actions
from workshop.rounds.models import Row

GOOD = {"condition": "act", "words": "Pads worn on one side", "measured": "", "unit": ""}


@pytest.fixture
def walk(company):
    actions.take_usual(TESTER)
    Row.objects.filter(words="Brake pads and linings").update(limit_words="at least 3.0 mm", limit_source="maker's manual, DEMO, p. 3-18")
    return begun()


@pytest.fixture
def row(walk):
    return walk.rows.get(words="Brake pads and linings")


def sent(client, row, **typed):
    return client.post(reverse("rounds:row", args=[row.pk]), {**GOOD, "uid": a_uid(), **typed})


def test_it_becomes_a_finding_with_the_limit_of_the_row_and_one_line_of_history(row, as_mechanic):
    before = told()
    answer = sent(as_mechanic, row, measured="2,4", unit="mm", camera=picture(), gallery=[picture("#111111")])
    assert answer.headers["Location"] == f"{reverse('rounds:walk', args=[row.round.card_id])}#row-{row.pk}"
    row.refresh_from_db()
    found = row.finding
    assert (row.state, found.condition, found.place, f"{found.measured:f}") == ("act", "act", "Brakes", "2.400")
    assert (found.limit_words, found.limit_source) == ("at least 3.0 mm", "maker's manual, DEMO, p. 3-18")
    assert found.photos.count() == 2
    assert kinds(before) == ["inspections.found"]


def test_the_words_and_the_unit_stand_there_already(row, as_mechanic):
    text = as_mechanic.get(reverse("rounds:row", args=[row.pk])).content.decode()
    assert 'value="Brake pads and linings"' in text and 'value="mm"' in text
    assert "at least 3.0 mm" in text and "p. 3-18" in text


def test_without_a_limit_the_maker_decides(walk, as_mechanic):
    tread = walk.rows.get(words="Tread, all wheels")
    assert "The maker’s own value decides" in as_mechanic.get(reverse("rounds:row", args=[tread.pk])).content.decode()


def test_the_same_page_sent_twice_is_one_finding(row, as_mechanic):
    uid, before = a_uid(), told()
    for _ in range(2):
        assert sent(as_mechanic, row, uid=uid).status_code == 302
    assert Finding.objects.count() == 1
    assert kinds(before) == ["inspections.found"]


def test_the_page_of_a_row_that_was_taken_back_is_told(row, as_mechanic):
    uid, before = a_uid(), told()
    sent(as_mechanic, row, uid=uid)
    as_mechanic.post(reverse("rounds:judge", args=[row.pk]), {"state": "unseen"})
    sent(as_mechanic, row, uid=uid)
    row.refresh_from_db()
    assert (row.state, Finding.objects.count()) == ("act", 1)
    assert kinds(before) == ["inspections.found", "rounds.judged", "rounds.judged"]


REFUSED = {
    "no condition": ({"condition": ""}, "Choose one by its shape"),
    "no such condition": ({"condition": "unseen"}, "Choose one by its shape"),
    "no words": ({"words": " "}, "Nothing written"),
    "a number of nothing": ({"measured": "2.4"}, "2.4 of what?"),
    "no number": ({"measured": "1e5", "unit": "mm"}, "is not a number"),
    "not a number": ({"measured": "NaN", "unit": "mm"}, "is not a number"),
    "too large": ({"measured": "1234567", "unit": "mm"}, "is not a number"),
    "other figures": ({"measured": "٤", "unit": "mm"}, "is not a number"),
    "too long": ({"words": "x" * 10_000}, "10,000 characters"),
    "no paper prints it": ({"words": "a\x00b"}, "no paper can print"),
    "no number of the page": ({"uid": "x"}, "has lost its number"),
}


@pytest.mark.parametrize("typed, sentence", REFUSED.values(), ids=REFUSED)
def test_what_is_refused_keeps_what_was_typed(row, as_mechanic, typed, sentence):
    before = told()
    answer = sent(as_mechanic, row, **typed)
    assert answer.status_code == 422 and sentence in answer.content.decode()
    assert GOOD["words"] in answer.content.decode() or "words" in typed
    row.refresh_from_db()
    assert (row.state, Finding.objects.count(), told()) == ("unseen", 0, before)


def test_a_picture_stays_when_a_box_is_refused_and_what_is_none_is_named(row, as_mechanic):
    refused = sent(as_mechanic, row, condition="", camera=picture())
    kept = re.findall(r'name="kept" value="([0-9a-f-]+)"', refused.content.decode())
    assert kept == [str(Photo.objects.get().uid)]
    wrong = sent(as_mechanic, row, kept=kept, camera=no_picture())
    assert wrong.status_code == 422 and "&lt;b&gt;.jpg: This is not a picture" in wrong.content.decode()
    assert sent(as_mechanic, row, kept=kept).status_code == 302
    assert Finding.objects.get().photos.count() == 1


@pytest.mark.parametrize("words", [HOSTILE, '=HYPERLINK("x")'])
def test_hostile_words_are_only_words(row, as_mechanic, words):
    assert sent(as_mechanic, row, words=words).status_code == 302
    assert HOSTILE not in as_mechanic.get(reverse("rounds:walk", args=[row.round.card_id])).content.decode()


def test_a_second_finding_is_not_put_over_the_first(row, as_mechanic):
    sent(as_mechanic, row)
    answer = sent(as_mechanic, row, words="Another look")
    assert answer.status_code == 409 and "is written down here already" in answer.content.decode()
    assert "Another look" in answer.content.decode()
    assert Finding.objects.count() == 1


def test_somebody_elses_card_keeps_its_finding(row, as_mechanic, company):
    uid, other = a_uid(), begun(dairy_card())
    sent(as_mechanic, other.rows.first(), uid=uid)
    answer = sent(as_mechanic, row, uid=uid)
    assert answer.status_code == 409 and "saved before, on another card" in answer.content.decode()
    row.refresh_from_db()
    assert row.state == "unseen"


@pytest.mark.parametrize("state", ["closed", "cancelled"])
def test_a_card_that_is_over_takes_no_finding(row, as_mechanic, state):
    Card.objects.filter(pk=row.round.card_id).update(state=state)
    answer = sent(as_mechanic, row)
    assert answer.status_code == 409 and "Take a new enquiry" in answer.content.decode() and GOOD["words"] in answer.content.decode()
    assert Finding.objects.count() == 0


def test_a_walk_that_has_ended_takes_no_finding(row, as_mechanic):
    actions.end_round(TESTER, row.round)
    answer = sent(as_mechanic, row)
    assert answer.status_code == 409 and "This walk-round ended on" in answer.content.decode()
    assert Finding.objects.count() == 0


def test_the_office_does_not_write(row, as_office):
    assert as_office.get(reverse("rounds:row", args=[row.pk])).status_code == 403
    assert sent(as_office, row).status_code == 403
