"""worksheets:parts, worksheets:fit, worksheets:teach_in, worksheets:teach_in_all, worksheets:part_correct, worksheets:let_go and
worksheets:take_off: which part sits where, and that what
has a code is taught in before the vehicle leaves (story 20 of the job)."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.book.making import another_card, upload
from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from tests.jobs.test_leave import left
from workshop import clock
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, Hold
from workshop.worksheets import actions, queries
from workshop.worksheets.models import FittedPart

MOST_QUERIES = 7


def fit(client, card, *rows, **typed):
    """Fits parts by the page: rows of place, serial, code."""
    good = {"uid": a_uid(), "part": "Injector", "part_number": "INJ-7", "fitted_on": clock.today().isoformat(), "km": "92400"}
    for n, (place, serial, code) in enumerate(rows):
        good |= {f"row{n}-position": place, f"row{n}-serial": serial, f"row{n}-code": code}
    return client.post(reverse("worksheets:fit", args=[card.pk]), {**good, "rows": len(rows) or 1, **typed})


def press(client, name, card, part, **typed):
    return client.post(reverse(f"worksheets:{name}", args=[card.pk]), {"part": str(part.uid), **typed})


def shown(client, card):
    return " ".join(client.get(reverse("worksheets:parts", args=[card.pk])).content.decode().split())


def coded(card, *places, **more):
    rows = [actions.PartIn(place, serial=f"S{place[-1]}", code=f"K{place[-1]}") for place in places]
    return actions.fit_parts(TESTER, card, "Injector", rows, must_be_taught=True, **more)


def test_four_injectors_with_their_codes_in_one_sheet_and_one_line_of_history(company, as_mechanic):
    card = dairy_card()
    page = as_mechanic.get(reverse("worksheets:fit", args=[card.pk]), {"cylinders": "4"}).content.decode()
    assert page.count('value="cylinder ') == 4
    before = told()
    rows = [(f"cylinder {n}", f"SER-{n}", f"CODE{n}") for n in range(1, 5)]
    assert fit(as_mechanic, card, *rows, old_part="core").status_code == 302
    assert [(one.position, one.serial, one.code) for one in FittedPart.objects.order_by("pk")] == rows
    assert kinds(before) == ["worksheets.parts_fitted"]
    text = shown(as_mechanic, card)
    for said in ("Injector, cylinder 3", "SER-3", "CODE3", "INJ-7", "92,400 km", "sent back for its core"):
        assert said in text, said


def test_an_empty_row_is_left_out(company, as_mechanic):
    card = dairy_card()
    assert fit(as_mechanic, card, ("", "", ""), ("cylinder 2", "A", "")).status_code == 302
    assert FittedPart.objects.get().position == "cylinder 2"


def test_fitting_in_the_same_place_ends_the_one_before_and_any_day_can_be_asked(company):
    first = dairy_card()
    day = clock.today()
    with clock.frozen(clock.now() - dt.timedelta(days=90)):
        actions.fit_parts(TESTER, first, "Injector", [actions.PartIn("Cylinder 2", "OLD"), actions.PartIn("cylinder 3", "STAYS")])
    later = another_card(first)
    actions.fit_parts(TESTER, later, "injector", [actions.PartIn("cylinder  2", "NEW")], old_part="scrapped")
    old = FittedPart.objects.get(serial="OLD")
    assert (old.removed_on, old.removed_card, old.became) == (day, later, "scrapped")
    assert [one.serial for one in queries.configuration(first.vehicle)] == ["STAYS", "NEW"]
    assert [one.serial for one in queries.configuration(first.vehicle, day - dt.timedelta(days=1))] == ["OLD", "STAYS"]
    assert [one.serial for one in queries.configuration(first.vehicle, day - dt.timedelta(days=91))] == []


def test_another_part_in_the_same_place_and_another_vehicle_are_left_alone(company):
    card, other = dairy_card(), dairy_card(vehicle={"make": "Ostrel", "model": "Wander 28"})
    actions.fit_parts(TESTER, card, "Injector", [actions.PartIn("cylinder 2", "A")])
    actions.fit_parts(TESTER, card, "Glow plug", [actions.PartIn("cylinder 2", "B")])
    actions.fit_parts(TESTER, other, "Injector", [actions.PartIn("cylinder 2", "A")])
    assert not FittedPart.objects.exclude(removed_on=None).exists()


def test_parts_follow_when_two_entries_of_a_vehicle_are_merged(company):
    one, two = dairy_card(), dairy_card(vehicle={"make": "Tolvar", "model": "Hodbearer 35", "plate": "VM 00 DEMO-7"})
    actions.fit_parts(TESTER, two, "Injector", [actions.PartIn("cylinder 2", "A")])
    jobs.merge_vehicles(TESTER, one.vehicle, two.vehicle, "Written down twice.")
    assert [part.serial for part in queries.configuration(one.vehicle)] == ["A"]


def test_not_ready_until_taught_in(company, as_mechanic):
    """The hold stops the line and the vehicle; teaching in the last of them releases both."""
    card = dairy_card()
    line = seal_line(card)
    one, two = coded(card, "cylinder 1", "cylinder 2", line=line)
    with pytest.raises(jobs.Refused, match=r"Not taught in: Injector cylinder 1, Injector cylinder 2."):
        jobs.finish_line(TESTER, line)
    assert press(as_mechanic, "teach_in", card, one, words="Code accepted").status_code == 302
    with pytest.raises(jobs.Refused, match=r"Not taught in: Injector cylinder 2."):
        jobs.finish_line(TESTER, line)
    assert press(as_mechanic, "teach_in", card, two, photo=upload()).status_code == 302
    assert not Hold.objects.filter(released_at=None).exists()
    jobs.finish_line(TESTER, line)
    jobs.mark_ready(TESTER, card)
    two.refresh_from_db()
    assert (two.taught_by, two.taught_photo is not None) == ("Pip Tansley-Vole", True)


def test_without_a_line_it_stops_the_vehicle_alone(company):
    card = dairy_card()
    coded(card, "cylinder 1")
    with pytest.raises(jobs.Refused, match=r"Not ready. Not taught in: Injector cylinder 1."):
        jobs.mark_ready(TESTER, card)
    assert Card.objects.get().state == "open"


def test_it_is_told_from_the_hold_of_the_tightening_sheet(company):
    card = dairy_card()
    line = seal_line(card, critical=True)
    actions.add_joint(TESTER, line, "Clamp")
    (part,) = coded(card, "cylinder 1", line=line)
    actions.teach_in(TESTER, card, part, "accepted")
    assert Hold.objects.get(released_at=None).reason.startswith("Critical: Clamp")


def test_the_owner_lets_it_go_with_a_reason_that_is_printed(company, as_owner):
    card = dairy_card()
    (part,) = coded(card, "cylinder 1")
    assert press(as_owner, "let_go", card, part, reason="").status_code == 422
    assert press(as_owner, "let_go", card, part, reason="Battery too low today, comes back Friday").status_code == 302
    jobs.mark_ready(TESTER, card)
    assert "not taught in, limited use" in shown(as_owner, card)
    press(as_owner, "teach_in", card, part, words="accepted")
    assert "limited use" not in shown(as_owner, card)


@pytest.mark.parametrize("who", ["as_mechanic", "as_office", "as_bookkeeper"])
def test_nobody_else_lets_it_go(company, request, who):
    card = dairy_card()
    (part,) = coded(card, "cylinder 1")
    assert press(request.getfixturevalue(who), "let_go", card, part, reason="In a hurry").status_code == 403


def test_taking_it_off_releases_too_also_from_a_later_card(company, as_mechanic):
    first = dairy_card()
    (part,) = coded(first, "cylinder 1")
    later = another_card(first)
    assert press(as_mechanic, "take_off", later, part, became="").status_code == 422
    assert press(as_mechanic, "take_off", later, part, became="returned").status_code == 302
    assert not Hold.objects.filter(released_at=None).exists()
    part.refresh_from_db()
    assert (part.removed_card, part.became) == (later, "returned")


def test_a_second_tap_counts_once(company, as_mechanic):
    card, uid, before = dairy_card(), a_uid(), told()
    for _ in range(2):
        fit(as_mechanic, card, ("cylinder 1", "A", "B"), ("cylinder 2", "C", "D"), uid=uid, must_be_taught="on")
    part = FittedPart.objects.order_by("pk")[0]
    for _ in range(2):
        press(as_mechanic, "teach_in", card, part, words="accepted")
        press(as_mechanic, "take_off", card, part, became="scrapped")
    assert FittedPart.objects.count() == 2
    assert kinds(before) == ["worksheets.parts_fitted", "worksheets.taught_in", "worksheets.part_taken_off"]


@pytest.mark.parametrize(
    ("rows", "typed", "sentence"),
    [
        ([], {}, "No place."),
        ([("", "A", "")], {}, "Row 1: No place."),
        ([("cylinder 1", "A", "")], {"part": ""}, "No part."),
        ([("cylinder 1", "A", "")], {"part": "x" * 10_000}, "10,000 characters."),
        ([("x" * 61, "A", "")], {}, "61 characters."),
        ([("cylinder 1", "A\x00", "")], {}, "Row 1:"),
        ([("cylinder 1", "A", ""), ("Cylinder 1", "B", "")], {}, "written twice. One part sits in one place."),
        ([("cylinder 1", "A", ""), ("cylinder 2", "a", "")], {}, "Each part has its own."),
        ([("cylinder 1", "A", "")], {"fitted_on": "2126-01-01"}, "Not a day of this work."),
        ([("cylinder 1", "A", "")], {"fitted_on": "2099-01-01"}, "is still to come"),
        ([("cylinder 1", "A", "")], {"fitted_on": "yesterday"}, "Not a day."),
        ([("cylinder 1", "A", "")], {"km": "many"}, "is not a number"),
        ([("cylinder 1", "A", "")], {"line": "987654"}, "That line is not on this card."),
        ([("cylinder 1", "A", "")], {"line": "x"}, "That line is not on this card."),
        ([("cylinder 1", "A", "")], {"old_part": "eaten"}, "Choose one of these."),
        ([("cylinder 1", "A", "")], {"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, rows, typed, sentence):
    card, before = dairy_card(), told()
    answer = fit(as_mechanic, card, *rows, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (FittedPart.objects.count(), told()) == (0, before)


def test_a_serial_that_sits_elsewhere_and_a_day_before_the_one_that_sits_there(company, as_mechanic):
    card = dairy_card()
    fit(as_mechanic, card, ("cylinder 1", "A", ""))
    assert "Serial A sits in cylinder 1" in fit(as_mechanic, card, ("cylinder 2", "A", "")).content.decode()
    early = (clock.today() - dt.timedelta(days=1)).isoformat()
    assert "cannot be older" in fit(as_mechanic, card, ("cylinder 1", "B", ""), fitted_on=early).content.decode()
    assert FittedPart.objects.count() == 1


def test_another_cards_line_and_another_vehicles_part(company, as_mechanic):
    card, other = dairy_card(), dairy_card(vehicle={"make": "Ostrel", "model": "Wander 28"})
    assert fit(as_mechanic, card, ("cylinder 1", "A", ""), line=seal_line(other).pk).status_code == 422
    (part,) = coded(other, "cylinder 1")
    before = told()
    for name, typed in (("teach_in", {"words": "x"}), ("take_off", {"became": "kept"})):
        answer = press(as_mechanic, name, card, part, **typed)
        assert answer.status_code == 422
        assert "another vehicle" in answer.content.decode()
    assert told() == before


def test_no_proof_no_teaching_in_and_a_broken_picture_says_so(company, as_mechanic):
    from django.core.files.uploadedfile import SimpleUploadedFile

    card = dairy_card()
    (part,) = coded(card, "cylinder 1")
    assert "No proof." in press(as_mechanic, "teach_in", card, part).content.decode()
    answer = press(as_mechanic, "teach_in", card, part, photo=SimpleUploadedFile("x.jpg", b"no picture", "image/jpeg"), words="ok")
    assert answer.status_code == 422
    assert "not a picture" in answer.content.decode()
    part.refresh_from_db()
    assert part.taught_at is None


def test_a_closed_card_takes_nothing_new(company, as_mechanic):
    card = dairy_card()
    (part,) = coded(card, "cylinder 1")
    actions.teach_in(TESTER, card, part, "accepted")
    jobs.mark_ready(TESTER, card)
    jobs.close_card(TESTER, card)
    before = told()
    assert "closed" in fit(as_mechanic, card, ("cylinder 1", "B", "")).content.decode()
    assert press(as_mechanic, "take_off", card, part, became="kept").status_code == 422
    assert told() == before


def test_hostile_text_is_inert(company, as_mechanic):
    card = dairy_card()
    fit(as_mechanic, card, (HOSTILE, '=HYPERLINK("x")', HOSTILE), part=HOSTILE, must_be_taught="on")
    text = shown(as_mechanic, card)
    assert HOSTILE not in text
    assert "&lt;script&gt;" in text


@pytest.mark.parametrize("count", [1, 12])
def test_it_asks_the_same_few_questions_however_many_parts(company, as_mechanic, django_assert_max_num_queries, count):
    card = dairy_card()
    coded(card, *[f"cylinder {chr(64 + n)}" for n in range(1, count + 1)])
    with django_assert_max_num_queries(MOST_QUERIES):
        shown(as_mechanic, card)


def test_a_hold_of_many_parts_fits_its_row(company):
    card = dairy_card()
    coded(card, *[f"a place with a rather long name of its own {chr(64 + n)}" for n in range(1, 13)])
    reason = Hold.objects.get().reason
    assert len(reason) <= 200
    assert "more" in reason


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_writes(company, request, who):
    client, card = request.getfixturevalue(who), dairy_card()
    (part,) = coded(card, "cylinder 1")
    assert client.get(reverse("worksheets:parts", args=[card.pk])).status_code == (200 if who == "as_office" else 403)
    assert fit(client, card, ("cylinder 2", "A", "")).status_code == 403
    assert press(client, "teach_in", card, part, words="x").status_code == 403


@pytest.mark.parametrize("name", ["teach_in", "take_off"])
@pytest.mark.parametrize("uid", ["", "x", "00000000-0000-4000-8000-000000000000"])
def test_a_button_that_lost_its_part_says_so(company, as_mechanic, name, uid):
    answer = as_mechanic.post(reverse(f"worksheets:{name}", args=[dairy_card().pk]), {"part": uid, "words": "x", "became": "kept"})
    assert answer.status_code == 422
    assert "The page has lost its number." in answer.content.decode()


def test_a_page_used_on_another_card_is_refused(company, as_mechanic):
    card, uid = dairy_card(), a_uid()
    fit(as_mechanic, card, ("cylinder 1", "A", ""), uid=uid)
    answer = fit(as_mechanic, another_card(card), ("cylinder 1", "B", ""), uid=uid)
    assert answer.status_code == 422
    assert "The page has lost its number." in answer.content.decode()
    assert FittedPart.objects.count() == 1


def test_four_are_taught_in_in_one_session_with_one_line_of_history(company, as_mechanic):
    card = dairy_card()
    coded(card, "cylinder 1", "cylinder 2", "cylinder 3", "cylinder 4")
    assert "All 4 taught in" in shown(as_mechanic, card)
    where, before = reverse("worksheets:teach_in_all", args=[card.pk]), told()
    assert "No proof." in as_mechanic.post(where, {"words": ""}).content.decode()
    assert as_mechanic.post(where, {"words": "x" * 201}).status_code == 422
    assert as_mechanic.post(where, {"words": "four codes accepted"}).status_code == 302
    assert kinds(before) == ["worksheets.taught_in"]
    assert not Hold.objects.filter(released_at=None).exists()
    assert "Nothing waits" in as_mechanic.post(where, {"words": "again"}).content.decode()
    assert kinds(before) == ["worksheets.taught_in"]


def correct(client, card, part, **typed):
    good = {"position": part.position, "serial": part.serial, "code": part.code, "part_number": "", "reason": "Misread."}
    return press(client, "part_correct", card, part, **{**good, **typed})


def test_what_was_misread_is_put_right_and_history_keeps_the_old(company, as_mechanic):
    card = dairy_card()
    one, _two = coded(card, "cylinder 1", "cylinder 2")
    before = told()
    assert correct(as_mechanic, card, one, code="K9", position="cylinder 3").status_code == 302
    one.refresh_from_db()
    assert (one.position, one.code, one.serial) == ("cylinder 3", "K9", "S1")
    assert kinds(before) == ["worksheets.part_corrected"]
    assert Hold.objects.get(released_at=None).reason == "Not taught in: Injector cylinder 3, Injector cylinder 2."
    for typed, sentence in (
        ({}, "stands there already"),
        ({"code": "K8", "reason": ""}, "No reason."),
        ({"position": ""}, "No place."),
        ({"position": "Cylinder 2"}, "sits another Injector"),
        ({"serial": "s2"}, "Serial s2 sits in cylinder 2"),
        ({"code": "x" * 10_000}, "10,000 characters."),
    ):
        answer = correct(as_mechanic, card, one, **typed)
        assert answer.status_code == 422, typed
        assert sentence in answer.content.decode(), typed
    assert kinds(before) == ["worksheets.part_corrected"]


def test_while_the_vehicle_is_left_nothing_is_fitted_taught_in_or_taken_off(company, as_mechanic):
    card = dairy_card()
    (part,) = coded(card, "cylinder 1")
    left(card)
    before = told()
    for answer in (
        fit(as_mechanic, card, ("cylinder 2", "A", "")),
        press(as_mechanic, "teach_in", card, part, words="accepted"),
        press(as_mechanic, "teach_in_all", card, part, words="accepted"),
        press(as_mechanic, "take_off", card, part, became="kept"),
    ):
        assert answer.status_code == 422
        assert "Coming back starts with a look at it." in answer.content.decode()
    assert (FittedPart.objects.count(), told()) == (1, before)
    assert press(as_mechanic, "part_correct", card, part, position="cylinder 1", serial="S9", reason="Read again.").status_code == 302


@pytest.mark.parametrize("verb", ["fit", "take_off", "teach_in"])
def test_the_cards_of_a_vehicle_are_locked_in_their_order_before_its_parts(company, verb):
    """A part of an earlier card is touched from a later one: card, part, earlier card would wait for somebody who began with that one."""
    first = dairy_card()
    (part,) = coded(first, "cylinder 1")
    later = another_card(first)
    verbs = {
        "fit": lambda: coded(later, "cylinder 1"),
        "take_off": lambda: actions.take_off(TESTER, later, part, "kept"),
        "teach_in": lambda: actions.teach_in(TESTER, later, part, "accepted"),
    }
    with CaptureQueriesContext(connection) as asked:
        verbs[verb]()
    asked = [query["sql"] for query in asked]
    every = next(n for n, sql in enumerate(asked) if '"jobs_card"."vehicle_id" = ' in sql and 'ORDER BY "jobs_card"."id" ASC' in sql)
    one = next(n for n, sql in enumerate(asked) if f'"jobs_card"."id" = {later.pk} ' in sql and '"jobs_card"."state"' in sql)
    parts = next(n for n, sql in enumerate(asked) if "worksheets_fittedpart" in sql)
    assert every < min(one, parts)
