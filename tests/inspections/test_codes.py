"""inspections:codes, fault codes kept before anything is cleared, and inspections:clear."""

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, a_uid, dairy_card, kinds, told
from workshop.inspections import queries
from workshop.inspections.models import CodeRead, CodesCleared, FaultCode
from workshop.jobs.models import Card

MANY = """Engine:
P0301 misfire, cylinder 1
P1A00-1A pending own words
SPN 190 FMI 2

Body:
0x9234
4A21 flap sticks (permanent)
"""
MOST_QUERIES = 10


def page(card):
    return reverse("inspections:codes", args=[card.pk])


def sent(client, card, codes=MANY, **typed):
    return client.post(page(card), {"uid": a_uid(), "moment": "before", "codes": codes, **typed})


def cleared(client, card, **typed):
    return client.post(reverse("inspections:clear", args=[card.pk]), {"uid": a_uid(), "how": "tool", **typed})


def test_many_codes_are_kept_at_once_by_their_form_or_word_for_word(company, as_mechanic):
    card, before = dairy_card(), told()
    assert sent(as_mechanic, card, freeze="2,100 rev/min, 88 °C", tool="Reader DEMO-1").status_code == 302
    rows = list(FaultCode.objects.order_by("pk").values_list("code", "form", "module", "words", "status"))
    assert rows == [
        ("P0301", "J2012", "Engine", "misfire, cylinder 1", "stored"),
        ("P1A00-1A", "J2012", "Engine", "own words", "pending"),
        ("SPN 190 FMI 2", "J1939", "Engine", "", "stored"),
        ("B1234", "J2012", "Body", "", "stored"),
        ("4A21 flap sticks", "", "Body", "", "permanent"),
    ]
    assert kinds(before) == ["inspections.codes_read"]
    text = as_mechanic.get(page(card)).content.decode()
    for said in ("the maker’s own", "common to all makers", "2,100 rev/min", "Reader DEMO-1", "Read and keep the codes before clearing"):
        assert said in text


def test_none_stored_is_a_read_too(company, as_mechanic):
    card = dairy_card()
    assert sent(as_mechanic, card, "", none="on").status_code == 302
    assert CodeRead.objects.get().codes.count() == 0
    assert "None stored." in as_mechanic.get(page(card)).content.decode()


def test_after_the_work_it_says_what_is_gone_still_there_and_new(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card, "P0301\nP0234")
    sent(as_mechanic, card, "p0234\nU0100", moment="after")
    text = as_mechanic.get(page(card)).content.decode()
    compared = text[text.index("Before and after") : text.index("</span>Read")]
    gone, rest = compared.split("<b>still there</b>")
    still, new = rest.split("<b>new</b>")
    assert ("P0301" in gone, "P0234" in still, "U0100" in new) == (True, True, True)
    assert "P0301" not in still + new


def test_a_code_is_the_same_where_one_read_names_no_module(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card, "Engine:\nP0301\nBody:\nB1234")
    sent(as_mechanic, card, "P0301\nDoors:\nB1234", moment="after")
    found = queries.compared(queries.code_reads(card))
    assert by_word(found) == {"gone": [], "not read again": ["B1234"], "still there": ["P0301"], "new": ["B1234"]}


def by_word(found):
    return {word: [code.code for code in codes] for word, codes in found.items()}


def test_a_module_that_was_not_read_again_is_not_told_as_gone(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card, "Engine:\nP0301\nP0234\nAirbag:\nB0001")
    sent(as_mechanic, card, "Engine:\nP0234", moment="after")
    assert by_word(queries.compared(queries.code_reads(card))) == {
        "gone": ["P0301"],
        "not read again": ["B0001"],
        "still there": ["P0234"],
        "new": [],
    }
    assert "<b>not read again</b>" in as_mechanic.get(page(card)).content.decode()
    sent(as_mechanic, card, "", moment="after", none="on")
    assert by_word(queries.compared(queries.code_reads(card)))["gone"] == ["P0301", "P0234", "B0001"]


def test_cleared_is_refused_until_a_read_is_on_file_and_then_says_who_and_when(company, as_mechanic):
    card, before = dairy_card(), told()
    answer = cleared(as_mechanic, card)
    assert answer.status_code == 409
    assert "No read is on file for this card." in answer.content.decode()
    assert (CodesCleared.objects.count(), told()) == (0, before)
    sent(as_mechanic, card, "", none="on")
    uid = a_uid()
    cleared(as_mechanic, card, uid=uid)
    cleared(as_mechanic, card, uid=uid)
    assert [(gone.by, gone.how) for gone in CodesCleared.objects.all()] == [("Pip Tansley-Vole", "tool")]
    assert kinds(before) == ["inspections.codes_read", "inspections.codes_cleared"]
    assert "cleared with the tool" in as_mechanic.get(page(card)).content.decode()


def test_another_cards_read_does_not_count(company, as_mechanic):
    sent(as_mechanic, dairy_card())
    assert cleared(as_mechanic, dairy_card()).status_code == 409


def test_the_battery_counts_as_clearing_and_no_other_word_does(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card)
    assert cleared(as_mechanic, card, how="hammer").status_code == 422
    assert cleared(as_mechanic, card, how="battery").status_code == 302
    assert CodesCleared.objects.get().how == "battery"


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"codes": ""}, "No code. Write them, or tick none stored."),
        ({"none": "on"}, "Codes, and none stored?"),
        ({"codes": "x" * 6001}, "6,001 characters."),
        ({"codes": "P0301\x00"}, "no paper can print"),
        ({"codes": "P0301 " + "x" * 161}, "is too long for one code"),
        ({"codes": "x" * 41 + " y"}, "is too long for one code"),
        ({"codes": "M" * 61 + ":\nP0301"}, "is too long for one code"),
        ({"codes": "\n".join(f"P{n:04}" for n in range(61))}, "61 codes. At most 60"),
        ({"moment": "later"}, "Choose one: before the work"),
        ({"tool": "x" * 121}, "121 characters."),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **{"freeze": "cold start", **typed})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "cold start" in answer.content.decode()
    assert (CodeRead.objects.count(), told()) == (0, before)


def test_sent_twice_it_is_one_read(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    sent(as_mechanic, card, uid=uid)
    sent(as_mechanic, card, uid=uid)
    assert (CodeRead.objects.count(), FaultCode.objects.count()) == (1, 5)
    assert "on another card" in sent(as_mechanic, dairy_card(), uid=uid).content.decode()


def test_a_card_that_was_closed_meanwhile_takes_no_read_and_no_clearing(company, as_mechanic):
    card = dairy_card()
    sent(as_mechanic, card)
    Card.objects.filter(pk=card.pk).update(state="closed")
    assert sent(as_mechanic, card).status_code == 422
    assert cleared(as_mechanic, card).status_code == 409
    assert (CodeRead.objects.count(), CodesCleared.objects.count()) == (1, 0)


@pytest.mark.parametrize("count", [1, 20])
def test_it_asks_the_same_few_questions_however_many_reads_there_are(company, as_mechanic, django_assert_max_num_queries, count):
    card = dairy_card()
    for number in range(count):
        sent(as_mechanic, card, moment="after" if number else "before")
    with django_assert_max_num_queries(MOST_QUERIES):
        as_mechanic.get(page(card))


def test_what_was_typed_stands_there_inert(company, as_mechanic):
    card = dairy_card()
    assert HOSTILE not in sent(as_mechanic, card, HOSTILE, moment="").content.decode()
    sent(as_mechanic, card, HOSTILE)
    assert HOSTILE not in as_mechanic.get(page(card)).content.decode()


def test_the_office_reads_them_and_writes_none(company, as_office, as_bookkeeper):
    card = dairy_card()
    assert as_office.get(page(card)).status_code == 200
    assert sent(as_office, card).status_code == 403
    assert cleared(as_office, card).status_code == 403
    assert as_bookkeeper.get(page(card)).status_code == 403
    assert not CodeRead.objects.exists()
