"""catalogue:operations, catalogue:operation, catalogue:kit; taking out by catalogue:retire_operation and catalogue:retire_kit."""

from decimal import Decimal as D

import pytest
from django.urls import reverse
from lxml import html

from tests.jobs.cards import HOSTILE, TESTER, kinds, told
from workshop.catalogue import actions
from workshop.catalogue.actions import PartIn
from workshop.catalogue.models import Operation

FORMULA = '=HYPERLINK("http://x.example","pay")'


@pytest.fixture
def seal(company):
    part = PartIn("Rear seal", D("24.50"), D("16.00"), D(1), "N 44-7", "never", "K1 manual")
    return actions.write_operation(
        TESTER, uid=None, parts=[part], steps=[], kind="due", words="Rear seal", own_minutes=34, fits="Tolvar 35"
    )


def page(operation, name="operation"):
    return reverse(f"catalogue:{name}", args=[operation.uid])


def shown(client, operation):
    form = html.fromstring(client.get(page(operation)).content.decode()).xpath("//form[.//input[@name='seen']]")[0]
    return {name: value for name, value in form.form_values() if name != "csrfmiddlewaretoken"}


def parts(operation):
    return [[getattr(part, name) for name in actions.PART] for part in operation.parts.all()]


def test_saved_as_it_stands_it_stays_as_it_was(seal, as_mechanic):
    before = parts(seal)
    assert as_mechanic.post(page(seal), shown(as_mechanic, seal)).status_code == 302
    seal.refresh_from_db()
    assert (seal.words, seal.own_minutes, seal.kind, parts(seal)) == ("Rear seal", 34, "due", before)


def test_it_is_changed_with_one_line_of_history(seal, as_owner):
    before = told()
    typed = {**shown(as_owner, seal), "own_minutes": "40", "tools": "seal driver", "part_amount_0": "26,00"}
    assert as_owner.post(page(seal), typed).status_code == 302
    seal.refresh_from_db()
    assert (seal.own_minutes, seal.tools, seal.parts.get().amount) == (40, "seal driver", D("26.00"))
    assert kinds(before) == ["catalogue.operation_changed"]


def test_a_page_that_is_old_is_refused_and_keeps_what_was_typed(seal, as_owner, as_mechanic):
    old = shown(as_owner, seal)
    as_mechanic.post(page(seal), {**old, "own_minutes": "40"})
    before = told()
    answer = as_owner.post(page(seal), {**old, "own_minutes": "50"})
    assert answer.status_code == 422
    assert "was changed meanwhile" in answer.content.decode() and 'value="50"' in answer.content.decode()
    assert (Operation.objects.get().own_minutes, told()) == (40, before)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "Nothing written."),
        ({"words": "x" * 10_000}, "10,000 characters. At most 200"),
        ({"tools": "a\x00b"}, "no paper can print"),
        ({"own_minutes": "-1"}, "is not whole minutes"),
        ({"part_quantity_0": "NaN"}, "is not a number"),
        ({"part_amount_0": ""}, "No price for"),
        ({"part_words_0": ""}, "A price for what?"),
        ({"part_reuse_0": "inspect", "part_source_0": ""}, "Who says that it may go back in?"),
        ({"fixed_amount": "10"}, "counts twice"),
        ({"plain_words": "word " * 26}, "26 words."),
        ({"seen": ""}, "The page has lost its number."),
        ({"seen": "9" * 40}, ""),
    ],
)
def test_what_is_refused_gets_a_sentence_and_changes_nothing(seal, as_owner, typed, sentence):
    good, before = shown(as_owner, seal), told()
    answer = as_owner.post(page(seal), {**good, **typed})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (parts(seal), told()) == (parts(Operation.objects.get()), before)


def test_hostile_words_are_only_words(seal, as_owner):
    as_owner.post(page(seal), {**shown(as_owner, seal), "words": HOSTILE, "fits": FORMULA})
    for where in (page(seal), reverse("catalogue:operations")):
        assert HOSTILE not in as_owner.get(where).content.decode()


def test_one_more_part_saves_nothing(seal, as_owner):
    before = told()
    text = as_owner.post(page(seal), {**shown(as_owner, seal), "more": "1", "words": "Typed"}).content.decode()
    assert 'name="part_words_3"' in text and 'value="Typed"' in text
    assert told() == before


def test_taken_out_with_a_reason_it_can_still_be_read(seal, as_owner):
    kit = actions.write_kit(TESTER, "Rear of the engine", [seal])
    before = told()
    for thing, name in ((seal, "retire_operation"), (kit, "retire_kit")):
        for wrong in ("", " ", "x" * 10_000, "a\x00b"):
            assert as_owner.post(page(thing, name), {"reason": wrong}).status_code == 422
        for _tap in range(2):
            assert as_owner.post(page(thing, name), {"reason": "Seal is not made any more"}).status_code == 302
    assert kinds(before) == ["catalogue.operation_retired", "catalogue.kit_retired"]
    assert as_owner.get(reverse("catalogue:operations")).content.decode().count("Seal is not made any more") == 2
    for where in (page(seal), page(kit, "kit")):
        assert "Seal is not made any more" in as_owner.get(where).content.decode()
    assert as_owner.post(page(seal), {"seen": "0", "words": "Again", "own_minutes": "1"}).status_code == 422


def test_it_is_found_by_words_and_by_what_it_fits(seal, as_office):
    for asked, there in (("tolvar", True), ("seal REAR", True), ("clutch", False), ("\x00", True)):
        assert (page(seal) in as_office.get(reverse("catalogue:operations"), {"q": asked}).content.decode()) is there


def test_the_office_reads_and_changes_nothing(seal, as_office):
    kit = actions.write_kit(TESTER, "Rear of the engine", [seal])
    assert "Save operation</button></div>" not in as_office.get(page(seal)).content.decode()
    assert as_office.get(page(kit, "kit")).status_code == 200
    assert as_office.post(page(seal), {"seen": "0", "words": "Mine"}).status_code == 403
    assert as_office.post(page(seal, "retire_operation"), {"reason": "x"}).status_code == 403
    assert Operation.objects.get().words == "Rear seal"


def test_the_bookkeeper_stays_outside(seal, as_bookkeeper):
    assert as_bookkeeper.get(reverse("catalogue:operations")).status_code == 403
    assert as_bookkeeper.get(page(seal)).status_code == 403
