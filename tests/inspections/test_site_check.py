"""inspections:site_check, may we work here?"""

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from workshop.inspections.models import SiteCheck
from workshop.jobs import actions as jobs
from workshop.jobs.models import Hold

GOOD = {"ground": "Gravel, level", "chocked": "on", "stands": "on", "traffic": "none", "people": "one terrier", "verdict": "work"}
REFUSED = {**GOOD, "verdict": "refused", "why": "The drive slopes and the brake does not hold."}


def sent(client, card, typed=GOOD, **more):
    return client.post(reverse("inspections:site_check", args=[card.pk]), {"uid": a_uid(), **typed, **more})


def test_the_usual_cautions_stand_above_the_form_with_who_says_so(company, as_mechanic):
    text = as_mechanic.get(reverse("inspections:site_check", args=[dairy_card().pk])).content.decode()
    assert "HSE INDG434" in text
    assert "DANGER" in text


def test_a_good_place_is_written_down(company, as_mechanic):
    card, before = dairy_card(), told()
    assert sent(as_mechanic, card).status_code == 302
    check = SiteCheck.objects.get()
    assert (check.verdict, check.chocked, check.by) == ("work", True, "Pip Tansley-Vole")
    assert kinds(before) == ["inspections.site_checked"]
    assert not Hold.objects.exists()


def test_a_refused_place_is_a_valid_result_and_holds_every_start_until_somebody_looks_again(company, as_mechanic):
    card = dairy_card()
    line = seal_line(card)
    assert sent(as_mechanic, card, REFUSED).status_code == 302
    assert "The drive slopes" in as_mechanic.get(reverse("jobs:card", args=[card.pk])).content.decode()
    with pytest.raises(jobs.Refused, match="Do not work here: The drive slopes"):
        jobs.start_line(TESTER, line)
    before = told()
    sent(as_mechanic, card)
    assert kinds(before) == ["inspections.site_checked"]
    jobs.start_line(TESTER, line)


def test_the_same_page_sent_twice_is_one_look(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    sent(as_mechanic, card, uid=uid)
    sent(as_mechanic, card, uid=uid)
    assert SiteCheck.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"ground": ""}, "Nothing written."),
        ({"ground": "x" * 10_000}, "10,000 characters. At most 120"),
        ({"verdict": ""}, "Choose one: work here"),
        ({"verdict": "perhaps"}, "Choose one: work here"),
        ({"verdict": "refused"}, "No reason."),
        ({"verdict": "refused", "why": "x" * 201}, "201 characters."),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (SiteCheck.objects.count(), told()) == (0, before)


def test_what_was_typed_comes_back_inert(company, as_mechanic):
    assert HOSTILE not in sent(as_mechanic, dairy_card(), ground=HOSTILE, verdict="").content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_judges_a_place(company, request, who):
    assert sent(request.getfixturevalue(who), dairy_card()).status_code == 403


def test_a_card_that_is_not_there_is_a_404(company, as_mechanic):
    assert as_mechanic.get(reverse("inspections:site_check", args=[987654321])).status_code == 404
