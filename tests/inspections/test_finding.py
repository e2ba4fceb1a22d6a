"""inspections:finding, its cause (inspections:link) and its line (inspections:mend)."""

import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.book.making import photo
from tests.jobs.cards import HOSTILE, TESTER, dairy_card, kinds, told
from workshop.inspections import actions
from workshop.inspections.models import Cause, Finding, FindingLine, FindingPhoto
from workshop.jobs import actions as jobs
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card, Line
from workshop.quotes import actions as quotes

MOST_QUERIES = 12


def found(card, words, **more):
    return actions.add_finding(TESTER, card, **{"place": "Engine, rear", "words": words, "condition": "act", **more})


def shown(client, finding):
    return client.get(reverse("inspections:finding", args=[finding.uid]))


def linked(client, effect, cause, confidence="likely"):
    return client.post(reverse("inspections:link", args=[effect.uid]), {"cause": getattr(cause, "uid", cause), "confidence": confidence})


def mended(client, finding):
    return client.post(reverse("inspections:mend", args=[finding.uid]))


def test_it_shows_the_condition_and_the_measure_beside_its_limit_with_source(company, as_office):
    finding = found(
        dairy_card(),
        "Breather iced shut",
        condition="stop",
        measured=Decimal("4.8"),
        unit="kPa",
        limit_words="at most 1.0",
        limit_source="K1 p. 3",
    )
    text = shown(as_office, finding).content.decode()
    for said in ("Breather iced shut", "stop", "4.8\u00a0kPa", "at most 1.0", "K1 p. 3"):
        assert said in text


def test_a_measure_without_a_limit_says_that_no_source_is_on_file(company, as_mechanic):
    text = shown(as_mechanic, found(dairy_card(), "Pads", measured=Decimal("5.2"), unit="mm")).content.decode()
    assert "no source on file" in text


def test_a_line_with_the_same_uid_is_made_and_told_once(company):
    finding, uid = found(dairy_card(), "Hose split"), uuid.uuid4()
    before = told()
    one, two = (actions.line_from_finding(TESTER, finding, uid=uid) for _ in range(2))
    assert one == two
    assert (FindingLine.objects.count(), kinds(before)) == (1, ["inspections.line_made"])


def test_a_photo_goes_on_no_finding_that_has_it_and_on_none_that_is_full(company):
    card, shot = dairy_card(), photo()
    one, two, full = (found(card, words) for words in ("Seal out", "Seal again", "Everything"))
    for finding in (one, two):
        actions.add_photos(TESTER, finding, [shot])
    FindingPhoto.objects.bulk_create(FindingPhoto(finding=full, photo=photo()) for _ in range(24))
    before = told()
    for to, said in ((one, "hangs on"), (two, "hangs on “Seal again” already"), (full, "has 24 photos, the most")):
        with pytest.raises(Refused, match=said):
            actions.move_photo(TESTER, one.photos.get(), to, "Wrong one.")
    assert (one.photos.count(), two.photos.count(), full.photos.count(), told()) == (1, 1, 24, before)


def test_a_cancelled_card_takes_no_finding_no_cause_and_no_look_at_the_place(company):
    """A closed one does: what a phone sends late is about what was seen before."""
    card, uid = dairy_card(), uuid.uuid4()
    one, two = found(card, "Seal out", uid=uid), found(card, "Breather shut")
    look = {"ground": "gravel", "verdict": "work", "chocked": True, "stands": True}
    Card.objects.update(state="cancelled")
    before = told()
    for verb in (
        lambda: found(card, "Late"),
        lambda: actions.link_cause(TESTER, one, two),
        lambda: actions.check_site(TESTER, card, **look),
    ):
        with pytest.raises(Refused, match="is cancelled"):
            verb()
    assert (found(card, "Seal out", uid=uid), told()) == (one, before), "sent again it is the one that is there"
    Card.objects.update(state="closed")
    assert found(card, "Late").words == "Late"


@pytest.mark.parametrize("count", [2, 20])
def test_it_asks_the_same_few_questions_however_many_others_there_are(company, as_mechanic, django_assert_max_num_queries, count):
    card = dairy_card()
    effect = found(card, "Clutch oiled")
    for number in range(count):
        actions.link_cause(TESTER, effect, found(card, f"Cause {number}"))
    with django_assert_max_num_queries(MOST_QUERIES):
        shown(as_mechanic, effect)


def test_a_cause_is_linked(company, as_mechanic):
    card = dairy_card()
    cause, effect = found(card, "Breather iced shut"), found(card, "Seal pushed out")
    before = told()
    assert linked(as_mechanic, effect, cause, "sure").status_code == 302
    assert Cause.objects.get().confidence == "sure"
    assert kinds(before) == ["inspections.cause_linked"]
    assert "Breather iced shut" in shown(as_mechanic, effect).content.decode()


def test_a_chain_has_a_beginning(company, as_mechanic):
    card = dairy_card()
    one, two, three = (found(card, words) for words in ("Breather", "Seal", "Clutch"))
    actions.link_cause(TESTER, two, one)
    actions.link_cause(TESTER, three, two)
    answer = linked(as_mechanic, one, three)
    assert answer.status_code == 422
    assert "is itself a cause of" in answer.content.decode()
    assert Cause.objects.count() == 2


def test_a_finding_is_not_its_own_cause(company):
    finding = found(dairy_card(), "Breather")
    with pytest.raises(Refused, match="A chain has a beginning"):
        actions.link_cause(TESTER, finding, finding)


@pytest.mark.parametrize("cause", ["x", "00000000-0000-4000-8000-000000000000", ""])
def test_a_cause_that_is_not_there_is_refused(company, as_mechanic, cause):
    card, before = dairy_card(), told()
    effect = found(card, "Seal pushed out")
    assert linked(as_mechanic, effect, cause).status_code == 422
    assert (Cause.objects.count(), told()) == (0, before + 1)


def test_another_cards_finding_explains_nothing_here(company, as_mechanic):
    effect, foreign = found(dairy_card(), "Seal"), found(dairy_card(), "Breather")
    assert linked(as_mechanic, effect, foreign).status_code == 422
    with pytest.raises(Refused, match="stand on one card"):
        actions.link_cause(TESTER, effect, foreign)


def test_linked_twice_is_refused_and_stands_once(company, as_mechanic):
    card = dairy_card()
    cause, effect = found(card, "Breather"), found(card, "Seal")
    linked(as_mechanic, effect, cause)
    assert linked(as_mechanic, effect, cause).status_code == 422
    assert Cause.objects.count() == 1


def test_a_line_is_made_of_it_once(company, as_mechanic):
    finding = found(dairy_card(), "Seal pushed out")
    before = told()
    first, second = mended(as_mechanic, finding), mended(as_mechanic, finding)
    line = Line.objects.get()
    assert first.headers["Location"] == second.headers["Location"] == reverse("jobs:line", args=[line.uid])
    assert (line.words, line.kind, FindingLine.objects.count()) == ("Seal pushed out", "failed", 1)
    assert kinds(before) == ["inspections.line_made"]


def test_whoever_asks_with_an_old_page_gets_the_line_that_is_there(company):
    """Two taps at once: the second holds a finding read before the first made its line, and waits for the card."""
    finding = found(dairy_card(), "Seal pushed out")
    stale = Finding.objects.get(pk=finding.pk)
    before = told()
    assert actions.mend_finding(TESTER, finding) == actions.mend_finding(TESTER, stale)
    assert kinds(before) == ["inspections.line_made"]


@pytest.mark.both_databases
def test_the_card_is_locked_before_anybody_looks_for_its_line(company):
    finding = found(dairy_card(), "Seal pushed out")
    with CaptureQueriesContext(connection) as asked:
        actions.mend_finding(TESTER, finding)
    looked = [query["sql"] for query in asked if "SAVEPOINT" not in query["sql"]]
    assert "jobs_card" in looked[0]
    assert connection.vendor == "sqlite" or "FOR UPDATE" in looked[0]


def test_a_finding_that_was_moved_meanwhile_makes_no_line_here(company, as_mechanic):
    finding = found(dairy_card(), "Seal pushed out")
    stale = Finding.objects.select_related("card").get(pk=finding.pk)
    actions.move_finding(TESTER, finding, dairy_card(), "Written on the wrong card.")
    with pytest.raises(Refused, match="was moved to another card"):
        actions.mend_finding(TESTER, stale)


def test_what_was_typed_stands_there_inert(company, as_mechanic):
    assert HOSTILE not in shown(as_mechanic, found(dairy_card(), HOSTILE)).content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_links_and_makes_lines(company, request, who):
    card = dairy_card()
    one, two = found(card, "Breather"), found(card, "Seal")
    client = request.getfixturevalue(who)
    assert linked(client, two, one).status_code == 403
    assert mended(client, one).status_code == 403


def test_a_finding_that_is_not_there_is_a_404(company, as_mechanic):
    assert as_mechanic.get(reverse("inspections:finding", args=["00000000-0000-4000-8000-000000000000"])).status_code == 404


@pytest.mark.parametrize(("place", "critical"), [("Brakes, wheels", True), ("fuel system", True), ("Cab", False)])
def test_a_line_of_a_wordless_finding_has_no_name_yet_and_is_critical_where_work_can_hurt(company, place, critical):
    card = dairy_card()
    finding = actions.add_finding(TESTER, card, place=place, words=f"{place}: see the photo", condition="act")
    line = actions.mend_finding(TESTER, finding)
    assert (line.words, line.critical) == (f"{place}: name what is done", critical)
    jobs.change_line(TESTER, line, kind="failed", words=line.words, own_minutes=20)
    with pytest.raises(quotes.Refused, match="has no name yet"):
        quotes.send_version(TESTER, card, for_whom="Ilse Brackwater")
