"""inspections:site_check, may we work here, and inspections:check_in of whoever works alone."""

import datetime as dt

import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from workshop import clock
from workshop.inspections import queries
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


LONE = {"alone": "on", "within": "60", "call_name": "Ada Quillfeather", "call_phone": "+999 555 010 117"}
HOUR = dt.timedelta(hours=1)


def card_text(client, card):
    """The piece that the card shows, by itself."""
    check = queries.last_site_check(card)
    return render_to_string("inspections/_check_in.html", {"site": check, "card": card})


def pressed(client, card, due, minutes=""):
    return client.post(reverse("inspections:check_in", args=[card.pk]), {"due": due.isoformat(), "minutes": minutes})


def test_who_works_alone_says_by_when_and_whom_to_call(company, as_mechanic, held_clock):
    card, before = dairy_card(), told()
    assert "Nobody is called by this program." in as_mechanic.get(reverse("inspections:site_check", args=[card.pk])).content.decode()
    assert sent(as_mechanic, card, **LONE).status_code == 302
    check = SiteCheck.objects.get()
    assert (check.alone, check.check_in_at, check.call_name, check.overdue) == (True, held_clock + HOUR, "Ada Quillfeather", False)
    assert kinds(before) == ["inspections.site_checked"]
    assert "Checked in, done here" in as_mechanic.get(reverse("inspections:site_check", args=[card.pk])).content.decode()
    text = card_text(as_mechanic, card)
    for said in ("Works alone.", "10:00", "Ada Quillfeather", 'href="tel:+999555010117"', "tell the person before you start"):
        assert said in text


def test_a_time_of_day_is_today_or_else_tomorrow(company, as_mechanic, held_clock):
    """The clock stands at 09:00 in Vienna."""
    for written, due in (("14:30", dt.timedelta(hours=5, minutes=30)), ("8:45", dt.timedelta(hours=23, minutes=45))):
        card = dairy_card()
        assert sent(as_mechanic, card, **{**LONE, "within": "", "by_time": written}).status_code == 302
        assert queries.last_site_check(card).check_in_at == held_clock + due


def test_overdue_stands_on_the_card_and_on_the_desk(company, as_mechanic, held_clock):
    card = dairy_card()
    sent(as_mechanic, card, **LONE)
    with clock.frozen(held_clock + 2 * HOUR):
        assert "Overdue: nobody has checked in." in card_text(as_mechanic, card)
        desk = render_to_string("inspections/_check_ins.html")
        assert "Overdue since" in desk
        assert str(card) in desk


def test_checked_in_moves_it_on_or_ends_it_and_counts_once(company, as_mechanic, held_clock):
    card = dairy_card()
    sent(as_mechanic, card, **LONE)
    due, before = held_clock + HOUR, told()
    with clock.frozen(held_clock + dt.timedelta(minutes=50)):
        pressed(as_mechanic, card, due, "60")
        pressed(as_mechanic, card, due, "60")  # a second tap
        pressed(as_mechanic, card, due)  # an old page on another phone
    check = SiteCheck.objects.get()
    assert (check.check_in_at, check.checked_in_by) == (held_clock + dt.timedelta(minutes=110), "Pip Tansley-Vole")
    assert kinds(before) == ["inspections.checked_in"]
    pressed(as_mechanic, card, check.check_in_at)
    assert SiteCheck.objects.get().check_in_at is None
    assert card_text(as_mechanic, card).strip() == ""
    assert kinds(before) == ["inspections.checked_in"] * 2


@pytest.mark.parametrize("typed", [{"due": "x"}, {"due": ""}, {"minutes": "99999"}, {"minutes": "-5"}])
def test_a_check_in_that_says_nothing_sensible_changes_nothing(company, as_mechanic, held_clock, typed):
    card = dairy_card()
    sent(as_mechanic, card, **LONE)
    before = told()
    what = {"due": (held_clock + HOUR).isoformat(), "minutes": "", **typed}
    answer = as_mechanic.post(reverse("inspections:check_in", args=[card.pk]), what, follow=True)
    assert "Not checked in" in answer.content.decode()
    assert (SiteCheck.objects.get().check_in_at, told()) == (held_clock + HOUR, before)


def test_a_later_look_ends_the_earlier_check_in(company, as_mechanic, held_clock):
    card = dairy_card()
    sent(as_mechanic, card, **LONE)
    sent(as_mechanic, card)
    assert queries.check_ins() == []


def test_who_was_named_before_stands_in_the_boxes(company, as_mechanic, held_clock):
    sent(as_mechanic, dairy_card(), **LONE)
    text = as_mechanic.get(reverse("inspections:site_check", args=[dairy_card().pk])).content.decode()
    assert 'value="Ada Quillfeather"' in text


def test_a_refused_place_needs_no_check_in(company, as_mechanic, held_clock):
    assert sent(as_mechanic, dairy_card(), REFUSED, alone="on").status_code == 302
    assert SiteCheck.objects.get().check_in_at is None


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"within": ""}, "No time. Choose by when"),
        ({"within": "5"}, "Choose one of the times."),
        ({"by_time": "25:00"}, "is no time of day"),
        ({"by_time": "soon"}, "is no time of day"),
        ({"by_time": "12\x00:00"}, "no paper can print"),
        ({"call_name": ""}, "Nobody. Write who is called"),
        ({"call_phone": ""}, "That is no number."),
        ({"call_phone": "abc"}, "That is no number."),
        ({"call_phone": "1" * 41}, "41 characters."),
        ({"call_name": "a\x00b"}, "no paper can print"),
    ],
)
def test_working_alone_without_a_time_or_a_person_is_refused(company, as_mechanic, typed, sentence):
    card, before = dairy_card(), told()
    answer = sent(as_mechanic, card, **{**LONE, **typed})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert "one terrier" in answer.content.decode()
    assert (SiteCheck.objects.count(), told()) == (0, before)


def test_the_office_may_check_in_and_the_bookkeeper_may_not(company, as_mechanic, as_office, as_bookkeeper, held_clock):
    card = dairy_card()
    sent(as_mechanic, card, **LONE)
    assert pressed(as_bookkeeper, card, held_clock + HOUR).status_code == 403
    assert pressed(as_office, card, held_clock + HOUR).status_code == 302
    assert SiteCheck.objects.get().checked_in_by == "Nell Inkwater"


@pytest.mark.sqlite_only  # reads SQLite's plan
def test_whom_to_call_is_found_by_an_index(company):
    SiteCheck.objects.bulk_create(
        SiteCheck(card=dairy_card(), ground="gravel", verdict="work", by="Pip", at=clock.now(), alone=n == 0, call_name="Bram" * (n == 0))
        for n in range(3)
    )
    with CaptureQueriesContext(connection) as asked:
        assert queries.called_before("Pip")["call_name"] == "Bram"
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {asked.captured_queries[-1]['sql']}")
        plan = " ".join(row[3] for row in cursor.fetchall())
    assert "USING INDEX called_before" in plan and "TEMP B-TREE" not in plan, plan
