"""book:hand_over, book:hand_over_paper and book:old_parts: what the customer is told when the vehicle goes back, and its paper."""

import io
import shutil
import subprocess
import uuid
from decimal import Decimal
from unittest.mock import patch

import pikepdf
import pytest
from django.urls import reverse

from tests.book.making import left, pads, photo
from tests.invoices.making import accept
from tests.jobs.cards import HOSTILE, TESTER, WORDS, a_uid, dairy_card, kinds, told
from workshop import clock
from workshop.book import actions, pdf
from workshop.book.models import HandOver
from workshop.book.queries import hand_over as sheets
from workshop.book.queries import holding
from workshop.files import queries as files
from workshop.inspections import actions as inspections
from workshop.jobs import actions as jobs
from workshop.jobs import queries as job_queries
from workshop.jobs.models import Hold
from workshop.vehicles import actions as vehicles
from workshop.worksheets import actions as worksheets

MOST_QUERIES = 26
PDFAID = "http://www.aiim.org/pdfa/ns/id/"


def full(card):
    """A card with everything that a hand-over sheet tells; the work is done and the vehicle ready."""
    vehicles.read_meter(TESTER, card.vehicle, "km", 92_400)
    inspections.take_intake(
        TESTER, card, {"keys": "2, one with a red tag", "belongings": "child seat", "begun_missing": "two bolts"}, km=Decimal(92_410)
    )
    left(card)
    worked = jobs.add_line(
        TESTER, card, kind="failed", words="Rear crank seal", plain_words="The oil seal behind the engine is new.", own_minutes=34
    )
    accept(card, but=(1,))
    inspections.add_finding(TESTER, card, place="Gearbox", words="Input seal damp", condition="watch")
    worksheets.add_deviation(
        TESTER, card, makers_value="hose H-4", fitted_value="straight hose", reason="H-4 is gone.", agreed_by="Ilse Brackwater"
    )
    worksheets.fit_parts(TESTER, card, "Injector", [worksheets.PartIn("cylinder 2", "SER-2", "CODE2")], must_be_taught=True)
    worksheets.let_go(TESTER, card, card.fitted_parts.get(), "Battery too low today.")
    worksheets.add_follow_up(TESTER, card, worksheets.FollowUpIn("Look for oil", "new seal", due_km=Decimal(92_900)))
    worksheets.answer_old_parts(TESTER, card, "kept", "the old seal")
    jobs.set_outcome(TESTER, card.complaints.get(), "better")
    jobs.finish_line(TESTER, worked)
    jobs.set_advice(TESTER, card, "gently", "Clutch is being run in.")
    jobs.mark_ready(TESTER, card)
    vehicles.read_meter(TESTER, card.vehicle, "km", 92_418)
    card.refresh_from_db()
    return card


SAID = (
    "The oil seal behind the engine is new.", "Front pads", "brakes longer", "Injector cylinder 2", "not taught in, limited use",
    "Battery too low today.", "straight hose", "hose H-4", "Ilse Brackwater", "Input seal damp", "Look for oil", "new seal", "SER-2",
    "CODE2", "the old seal", WORDS[:20], "better", "2, one with a red tag", "child seat", "two bolts", "Clutch is being run in.",
)  # fmt: skip


def shown(client, card):
    return " ".join(client.get(reverse("book:hand_over", args=[card.pk])).content.decode().split())


def give(client, card, **typed):
    good = {"uid": a_uid(), "given_to": "Tobin Marrow", "keys_back": "on", "words": "Shown the new seal"}
    return client.post(reverse("book:hand_over", args=[card.pk]), {**good, **typed})


def paper(client, card, **more):
    return client.get(reverse("book:hand_over_paper", args=[card.pk]), more)


def words_of(data, folder):
    assert shutil.which("pdftotext"), "pdftotext reads the paper"
    (folder / "paper.pdf").write_bytes(data)
    said = subprocess.run(["pdftotext", "-layout", folder / "paper.pdf", "-"], capture_output=True, text=True, check=True).stdout
    return " ".join(said.split())


def test_the_sheet_tells_everything(company, as_mechanic):
    card = full(dairy_card())
    text = shown(as_mechanic, card)
    for said in (*SAID, "92,410", "92,418", "92,900", "kept for you"):
        assert said in text, said


def test_the_paper_tells_everything_on_one_page(company, as_mechanic, tmp_path):
    card = full(dairy_card())
    said = words_of(paper(as_mechanic, card).content, tmp_path)
    for words in (
        *SAID,
        "92,410 km → 92,418 km",
        "at 92,900 km",
        "page 1 of 1",
        "Quillfeather Mobile Diesel",
        "not handed over yet",
        "Drive gently.",
    ):
        assert words in said, words


def test_it_is_a_tagged_pdf_a_3b_with_its_fonts_that_asks_for_nothing(company):
    """ISO 19005-3: pdfaid part 3, conformance B; ISO 32000-1, 14.7 and 14.8: MarkInfo, StructTreeRoot, Lang."""
    data = pdf.render(sheets.sheet(sheets.card(full(dairy_card()).pk)))
    with pikepdf.open(io.BytesIO(data)) as document:
        about = document.open_metadata()
        assert (about[f"{{{PDFAID}}}part"], about[f"{{{PDFAID}}}conformance"]) == ("3", "B")
        assert document.Root.MarkInfo.Marked
        assert str(document.Root.Lang) == "en"
        tags = {str(o.S) for o in document.objects if isinstance(o, pikepdf.Dictionary) and "/S" in o and "/P" in o}
        assert {"/H1", "/H2", "/P", "/L"} <= tags
        fonts = [o for o in document.objects if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"]
        assert fonts
        assert all("/FontFile2" in font or "/FontFile3" in font for font in fonts)
        assert not any("/URI" in o for o in document.objects if isinstance(o, pikepdf.Dictionary))


def test_do_not_drive_stands_on_top(company, as_mechanic, tmp_path):
    card = dairy_card()
    jobs.set_advice(TESTER, card, "do_not", "The brake pipe is rusted through.")
    assert "Do not drive. The brake pipe is rusted through." in shown(as_mechanic, card)
    said = words_of(paper(as_mechanic, card).content, tmp_path)
    assert said.index("Do not drive.") < said.index("Done")


def test_handed_over_once_with_the_paper_as_it_was(company, as_mechanic, tmp_path):
    card, uid = full(dairy_card()), a_uid()
    before = told()
    for _ in range(2):
        assert give(as_mechanic, card, uid=uid).status_code == 302
    kept = HandOver.objects.get()
    assert (kept.given_to, kept.keys_back, kept.by) == ("Tobin Marrow", True, "Pip Tansley-Vole")
    assert kinds(before) == ["book.handed_over"]
    first = paper(as_mechanic, card).content
    assert first == files.read(kept.paper_id)
    assert "Taken by Tobin Marrow" in words_of(first, tmp_path)
    worksheets.answer_old_parts(TESTER, card, "scrapped")
    assert paper(as_mechanic, card).content == first
    assert "scrapped" in words_of(paper(as_mechanic, card, now="1").content, tmp_path)
    assert give(as_mechanic, card, given_to="Ilse Brackwater").status_code == 302
    assert paper(as_mechanic, card).content != first
    assert paper(as_mechanic, card, given=str(kept.uid)).content == first
    text = shown(as_mechanic, card)
    assert "Tobin Marrow" in text
    assert "Ilse Brackwater" in text


def test_what_changes_while_the_paper_is_drawn_is_not_handed_over(company):
    card = full(dairy_card())

    def drawn_late(*_):
        jobs.set_outcome(TESTER, card.complaints.get(), "cured")
        return b"paper"

    with patch.object(pdf, "render", drawn_late), pytest.raises(jobs.Refused, match="was changed this moment"):
        actions.hand_over(TESTER, card, "Tobin Marrow", keys_back=True)
    assert not HandOver.objects.exists()


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"given_to": ""}, "Nobody named."),
        ({"given_to": "x" * 10_000}, "10,000 characters."),
        ({"given_to": "a\x00b"}, "no paper can print"),
        ({"words": "x" * 301}, "301 characters."),
        ({"uid": "x"}, "The page has lost its number."),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(company, as_mechanic, typed, sentence):
    card = dairy_card()
    jobs.mark_ready(TESTER, card)
    before = told()
    answer = give(as_mechanic, card, **typed)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (HandOver.objects.count(), told()) == (0, before)


def test_not_before_it_is_ready_and_not_while_something_holds_it(company, as_mechanic):
    card = dairy_card()
    assert "not ready yet" in give(as_mechanic, card).content.decode()
    jobs.mark_ready(TESTER, card)
    worksheets.fit_parts(TESTER, card, "Sensor", [worksheets.PartIn("steering column")], must_be_taught=True)
    assert "It may not leave. Not taught in: Sensor steering column." in give(as_mechanic, card).content.decode()
    assert not HandOver.objects.exists()


def test_after_the_card_was_closed_it_can_still_be_handed_over(company, as_mechanic):
    card = full(dairy_card())
    jobs.close_card(TESTER, card)
    assert give(as_mechanic, card).status_code == 302


def test_each_hold_says_who_can_clear_it(company, as_mechanic):
    card = dairy_card()
    pads(card)
    worksheets.fit_parts(TESTER, card, "Sensor", [worksheets.PartIn("steering column")], must_be_taught=True)
    who = {one.hold.by_room: one.who for one in holding.held(job_queries.open_holds(card))}
    assert who == {
        "worksheets": "whoever ticks its joints by the maker's value",
        "worksheets.taught": "whoever teaches it in; or the owner, with a reason",
    }
    text = shown(as_mechanic, card)
    assert "Not taught in: Sensor steering column." in text
    assert "or the owner, with a reason" in text
    assert holding.released_by(Hold(by_room="somebody new")) == "the owner"


def test_a_mended_finding_is_not_told_as_open(company):
    card = dairy_card()
    finding = inspections.add_finding(TESTER, card, place="Engine", words="Seal out", condition="act", photos=[photo()])
    line = inspections.line_from_finding(TESTER, finding, kind="failed", words="Seal", own_minutes=10)
    accept(card)
    assert [one["words"] for one in sheets.sheet(sheets.card(card.pk))["watch"]] == ["Seal out"]
    jobs.finish_line(TESTER, line)
    assert sheets.sheet(sheets.card(card.pk))["watch"] == []


def test_old_parts_are_answered_once_a_tap_and_the_newest_counts(company, as_mechanic):
    card, uid, before = dairy_card(), a_uid(), told()
    where = reverse("book:old_parts", args=[card.pk])
    for _ in range(2):
        assert as_mechanic.post(where, {"uid": uid, "outcome": "shown", "words": ""}).status_code == 302
    assert as_mechanic.post(where, {"uid": a_uid(), "outcome": "returned", "words": "both seals"}).status_code == 302
    assert kinds(before) == ["worksheets.old_parts"] * 2
    assert "given to you" in shown(as_mechanic, card)
    for typed in ({"outcome": ""}, {"outcome": "eaten"}, {"words": "x" * 201}):
        assert as_mechanic.post(where, {"uid": a_uid(), "outcome": "kept", "words": "", **typed}).status_code == 422
    jobs.mark_ready(TESTER, card)
    jobs.close_card(TESTER, card)
    assert as_mechanic.post(where, {"uid": a_uid(), "outcome": "kept", "words": ""}).status_code == 422


def test_hostile_text_is_inert_on_page_and_paper(company, as_mechanic):
    card = dairy_card(words=HOSTILE)
    worksheets.add_deviation(TESTER, card, makers_value=HOSTILE, fitted_value='<img src="file:///etc/hostname">', reason="x", agreed_by="x")
    jobs.mark_ready(TESTER, card)
    give(as_mechanic, card, given_to='=HYPERLINK("x")', words=HOSTILE)
    assert HOSTILE not in shown(as_mechanic, card)
    text = pdf.html(sheets.sheet(sheets.card(card.pk)))
    assert "<script>" not in text
    assert "<img" not in text


@pytest.mark.parametrize("count", [1, 8])
def test_it_asks_the_same_few_questions(company, as_mechanic, django_assert_max_num_queries, count):
    card = dairy_card()
    for n in range(count):
        pads(card, words=f"Pads {n}", shown=photo(str(n)))
        worksheets.add_follow_up(TESTER, card, worksheets.FollowUpIn("Look", due_on=clock.today()))
        worksheets.add_deviation(TESTER, card, makers_value="a", fitted_value="b", reason="c", agreed_by="d")
        worksheets.fit_parts(TESTER, card, "Part", [worksheets.PartIn(f"place {n}")], must_be_taught=True)
    with django_assert_max_num_queries(MOST_QUERIES):
        shown(as_mechanic, card)


@pytest.mark.parametrize(("who", "sees"), [("as_office", 200), ("as_bookkeeper", 403)])
def test_only_who_works_on_vehicles_hands_over(company, request, who, sees):
    client, card = request.getfixturevalue(who), full(dairy_card())
    assert client.get(reverse("book:hand_over", args=[card.pk])).status_code == sees
    assert paper(client, card).status_code == sees
    assert give(client, card).status_code == 403
    assert client.post(reverse("book:old_parts", args=[card.pk]), {"outcome": "kept"}).status_code == 403
    assert not HandOver.objects.exists()


@pytest.mark.parametrize("given", ["x", str(uuid.uuid4())])
def test_a_paper_there_is_not(company, as_mechanic, given):
    assert paper(as_mechanic, dairy_card(), given=given).status_code == 404


def test_a_page_used_on_another_card_is_refused(company, as_mechanic):
    one, two, uid = dairy_card(), dairy_card(vehicle={"make": "Ostrel", "model": "Wander 28"}), a_uid()
    for card in (one, two):
        jobs.mark_ready(TESTER, card)
    give(as_mechanic, one, uid=uid)
    answer = give(as_mechanic, two, uid=uid)
    assert answer.status_code == 422
    assert "The page has lost its number." in answer.content.decode()
    assert HandOver.objects.count() == 1
