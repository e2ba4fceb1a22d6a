"""jobs:catalogue, jobs:put_on, jobs:operation_new, jobs:kit_new: a card and the catalogue."""

import json
import uuid
from decimal import Decimal as D

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, told
from workshop.catalogue import actions as catalogue
from workshop.catalogue import queries
from workshop.catalogue.models import Kit, Operation, Step
from workshop.history.models import Event
from workshop.history.registry import tell
from workshop.jobs import actions
from workshop.jobs.actions import PartIn
from workshop.jobs.models import CardStep, Line, LinePart

SEAL = PartIn("Rear seal", D("24.50"), D("16.00"), 1, "N 44-7", "never", "K1 manual")
OIL, LESS_OIL = (
    PartIn("Engine oil 5W-30, L", amount, None, litres, fluid="Engine oil") for amount, litres in ((D(84), D("8.4")), (D(74), D("7.4")))
)


def front(card):
    """Two lines behind the same tray; each drains the oil, one needs more."""
    tray = actions.add_step(TESTER, card, words="Tray", open_minutes=12, close_minutes=12)
    cover = actions.add_step(TESTER, card, words="Front cover", open_minutes=35, close_minutes=40, needs=[tray])
    one = actions.add_line(TESTER, card, kind="failed", words="Front seal", own_minutes=30, parts=[SEAL, LESS_OIL], steps=[cover])
    two = actions.add_line(TESTER, card, kind="due", words="Chain cover", own_minutes=20, parts=[OIL], steps=[cover])
    return one, two


def kit_of(card, **more):
    return actions.save_kit(TESTER, card, list(front(card)), "Front of the engine", **more)


def put(client, card, **typed):
    return client.post(reverse("jobs:put_on", args=[card.pk]), {"uid": a_uid(), **typed}, follow=True)


def columns(part):
    return [getattr(part, name) for name in catalogue.PART]


def test_a_line_is_kept_with_its_parts_and_access(company, as_mechanic):
    line, before = front(dairy_card())[0], told()
    typed = {"uid": a_uid(), "tools": "seal driver", "consumables": "brake cleaner", "fits": "Tolvar 35"}
    for _tap in range(2):
        answer = as_mechanic.post(reverse("jobs:operation_new", args=[line.uid]), typed, follow=True)
    assert "In the catalogue: Front seal." in answer.content.decode()
    kept = Operation.objects.get()
    assert (kept.own_minutes, kept.tools, kept.consumables, kept.fits) == (30, "seal driver", "brake cleaner", "Tolvar 35")
    assert [columns(part) for part in kept.parts.order_by("pk")] == [columns(part) for part in line.parts.order_by("pk")]
    step = kept.steps.get().step
    assert (step.words, step.open_minutes, [str(need.needs) for need in step.needs.all()]) == ("Front cover", 35, ["Tray"])
    assert kinds(before) == ["jobs.operation_kept"]
    assert "Keep for next time" in as_mechanic.get(reverse("jobs:line", args=[line.uid])).content.decode()


def test_a_step_with_the_same_words_and_minutes_is_one_step_of_the_catalogue(company):
    for line in [*front(dairy_card()), *front(dairy_card())]:
        actions.save_operation(TESTER, line)
    assert Step.objects.count() == 2


def test_a_call_out_is_not_kept(company, as_mechanic):
    line = actions.add_line(TESTER, dairy_card(), kind="first_price", words="Call-out", fixed_amount=D(90))
    answer = as_mechanic.post(reverse("jobs:operation_new", args=[line.uid]), {"uid": a_uid()})
    assert (answer.status_code, Operation.objects.count()) == (422, 0)


def test_lines_are_kept_as_a_kit(company, as_mechanic):
    card = dairy_card()
    lines, before = front(card), told()
    typed = {"uid": a_uid(), "words": "Front of the engine", "lines": [line.pk for line in lines]}
    for _tap in range(2):
        assert as_mechanic.post(reverse("jobs:kit_new", args=[card.pk]), typed).status_code == 302
    kit = Kit.objects.get()
    assert [str(place.operation) for place in kit.operations.all()] == ["Front seal", "Chain cover"]
    assert kinds(before) == ["jobs.kit_kept"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"words": ""}, "No name."),
        ({"lines": []}, "No line is ticked."),
        ({"lines": ["0"]}, "not on this card"),
        ({"lines": ["x"]}, "not on this card"),
        ({"words": "x" * 10_000}, "10,000 characters. At most 120"),
        ({"words": "a\x00b"}, "no paper can print"),
        ({"uid": ""}, "The page has lost its number."),
    ],
)
def test_a_kit_that_is_refused_gets_a_sentence(company, as_mechanic, typed, sentence):
    card = dairy_card()
    lines, before = front(card), told()
    good = {"uid": a_uid(), "words": "Front", "lines": [line.pk for line in lines]}
    answer = as_mechanic.post(reverse("jobs:kit_new", args=[card.pk]), {**good, **typed})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (Kit.objects.count(), Operation.objects.count(), told()) == (0, 0, before)


def test_a_line_of_another_card_is_in_no_kit(company):
    other = front(dairy_card())[0]
    with pytest.raises(actions.Refused, match="another card"):
        actions.save_kit(TESTER, dairy_card(), [other], "Front")


def test_a_kit_goes_on_at_once_and_the_oil_stands_once(company, as_mechanic):
    """Two operations drain 7.4 and 8.4 L: 8.4 L once, on the first line (job kits: the most, once; the trade's own reckoning)."""
    kit, card = kit_of(dairy_card()), dairy_card()
    before, uid = told(), a_uid()
    said = put(as_mechanic, card, kit=kit.uid, uid=uid).content.decode()
    assert "Engine oil stands once, 8.4 on line 1." in said
    again = put(as_mechanic, card, kit=kit.uid, uid=uid)
    assert again.status_code == 200
    assert [str(line) for line in card.lines.all()] == ["1 Front seal", "2 Chain cover"]
    oil = LinePart.objects.get(line__card=card, fluid="Engine oil")
    assert (oil.line.number, oil.quantity, oil.amount) == (1, D("8.4"), D("84.00"))
    assert [step.words for step in card.steps.all()] == ["Tray", "Front cover"]
    assert kinds(before) == ["jobs.put_on"]
    assert columns(card.lines.get(number=1).parts.get(words="Rear seal"))[4:7] == ["N 44-7", "never", "K1 manual"]


def test_a_step_that_is_on_the_card_is_used_again(company):
    kit, card = kit_of(dairy_card()), dairy_card()
    for place in kit.operations.all():
        actions.put_operation(TESTER, card, place.operation, uid=uuid.uuid4())
    assert card.steps.count() == 2
    assert {line.steps.get().step.words for line in card.lines.all()} == {"Front cover"}


def test_a_line_kept_and_put_on_the_card_it_came_from_shares_its_access(company):
    card = dairy_card()
    operation = actions.save_operation(TESTER, front(card)[0])
    actions.put_operation(TESTER, card, operation, uid=uuid.uuid4())
    assert CardStep.objects.filter(card=card).count() == 2


def test_a_fluid_that_the_access_owns_is_not_charged_again(company):
    card = dairy_card()
    drain = actions.add_step(
        TESTER, card, words="Drain", open_minutes=15, close_minutes=30, material_words="Coolant", material_amount=D("46.20")
    )
    part = PartIn("Coolant, L", D("46.20"), None, 6, fluid="coolant")
    line = actions.add_line(TESTER, card, kind="due", words="Thermostat", own_minutes=15, parts=[part], steps=[drain])
    other = dairy_card()
    done = actions.put_operation(TESTER, other, actions.save_operation(TESTER, line), uid=uuid.uuid4())
    assert done.shared == ["coolant stands once, in the access step Drain. This work needs 6."]
    assert not LinePart.objects.filter(line__card=other).exists()


def kept(line):
    return actions.save_operation(TESTER, line)


def line_of(card, words, *parts, **more):
    return actions.add_line(TESTER, card, kind="due", words=words, own_minutes=15, parts=parts, **more)


@pytest.mark.parametrize(
    ("material", "fluid", "once"),
    [
        ("oil seal", "oil", False),
        ("Engine oil seal", "Engine oil", False),
        ("gear oil", "oil", False),
        ("oil filter, gasket", "oil", False),
        ("Oil", "oil", True),
        ("oil, 5 L", "oil", True),
        ("oil 5 L", "oil", True),
        ("gasket, oil", "OIL", True),
    ],
)
def test_only_the_whole_name_of_a_fluid_is_that_fluid(company, material, fluid, once):
    card, other = dairy_card(), dairy_card()
    step = actions.add_step(TESTER, card, words="Cover", open_minutes=5, close_minutes=5, material_words=material, material_amount=D(9))
    line = line_of(card, "Oil", PartIn("Oil, L", D(50), None, 5, fluid=fluid), steps=[step])
    put = actions.put_operation(TESTER, other, kept(line), uid=uuid.uuid4())
    there = [part.quantity for part in LinePart.objects.filter(line__card=other)]
    assert (there, bool(put.shared)) == (([], True) if once else ([D(5)], False))


def two_cans():
    """Five litres from a can of three and one of two, 30.00 and 22.00."""
    cans = (PartIn("Oil, 3 L can", D(30), D(18), 3, fluid="Oil"), PartIn("Oil, 2 L can", D(22), D(12), 2, fluid="oil"))
    return kept(line_of(dairy_card(), "Oil from cans", *cans))


def test_two_cans_of_one_operation_add_up_before_they_are_compared(company):
    """4 L are on the card, 5 are needed: 1 more at a fifth of 52.00 and of 30.00 (the trade's own reckoning, no published source)."""
    card = dairy_card()
    line_of(card, "Oil", PartIn("Oil, L", D(40), D(24), 4, fluid="oil"))
    put = actions.put_operation(TESTER, card, two_cans(), uid=uuid.uuid4())
    oil = LinePart.objects.get(line__card=card)
    assert (oil.line.number, oil.quantity, oil.amount, oil.cost) == (1, D(5), D("50.40"), D(30))
    assert len(put.shared) == 1 and "Oil stands once, 5 on line 1." in put.shared[0]


def test_two_cans_alone_stay_two_cans(company):
    card = dairy_card()
    actions.put_operation(TESTER, card, two_cans(), uid=uuid.uuid4())
    assert sorted(part.quantity for part in LinePart.objects.filter(line__card=card)) == [D(2), D(3)]


def test_beside_an_offered_line_two_cans_leave_one_rest(company):
    card = dairy_card()
    line = line_of(card, "Oil", PartIn("Oil, L", D(40), D(24), 4, fluid="oil"))
    actions.write_answers(card, {line.pk: Line.Answer.OFFERED})
    rest = actions.put_operation(TESTER, card, two_cans(), uid=uuid.uuid4()).lines[0].parts.get()
    assert (rest.quantity, rest.amount, rest.cost) == (D(1), D("10.40"), D(6))


def test_the_price_of_two_cans_is_of_both(company):
    """Alone 52.00; beside an operation that has 4 of the 5 litres for 40.00, a fifth of it: 10.40 more."""
    cans, four = two_cans(), kept(line_of(dairy_card(), "Oil", PartIn("Oil, L", D(40), D(24), 4, fluid="oil")))
    price = [queries.alone(some, queries.all_steps(), D(0)).net_amount for some in ([cans], [four, cans], [cans, four])]
    assert price == [D("52.00"), D("50.40"), D("52.00")]


def test_history_names_the_line_that_got_more(company):
    kit, card = kit_of(dairy_card()), dairy_card()
    less, more = (place.operation for place in kit.operations.all())
    actions.put_operation(TESTER, card, less, uid=uuid.uuid4())
    actions.put_operation(TESTER, card, more, uid=uuid.uuid4())
    first, second = [tell(said.kind, json.loads(said.payload)) for said in Event.objects.filter(kind="jobs.put_on").order_by("seq")]
    assert first.endswith("lines 1")
    assert second.endswith("lines 2; Engine oil on line 1 from 7.4 to 8.4")
    actions.put_kit(TESTER, dairy_card(), kit, uid=uuid.uuid4())
    assert json.loads(Event.objects.latest("seq").payload)["numbers"] == "1, 2", "both lines are new"


@pytest.mark.parametrize("change", [{}, {"open_minutes": 13}, {"material_words": "gasket", "material_amount": D(5)}])
def test_a_step_of_the_card_that_came_from_no_catalogue_is_used_again_when_it_is_alike(company, change):
    """Its words may differ in capitals; with other minutes or other material it is another step."""
    operation, card = kept(front(dairy_card())[0]), dairy_card()
    there = actions.add_step(TESTER, card, **{"words": "TRAY", "open_minutes": 12, "close_minutes": 12, **change})
    actions.put_operation(TESTER, card, operation, uid=uuid.uuid4())
    assert card.steps.count() == (3 if change else 2)
    cover = card.steps.get(words="Front cover")
    assert (cover.needs.get().needs == there) is not bool(change)


def test_a_step_with_other_material_is_another_step_of_the_catalogue(company):
    for material, amount in (("gasket", D(5)), ("Gasket", D(5)), ("gasket", D(6)), ("", D(0))):
        card = dairy_card()
        more = {"material_words": material, "material_amount": amount}
        step = actions.add_step(TESTER, card, words="Cover", open_minutes=5, close_minutes=5, **more)
        kept(line_of(card, "Work", steps=[step]))
    assert [step.material_amount for step in Step.objects.order_by("pk")] == [D(5), D(6), D(0)]


def test_what_to_bring_keeps_its_two_names_and_is_not_cut_in_a_word(company):
    operation = kept(line_of(dairy_card(), "Work"))
    for tools, consumables, ends in (
        ("bar", "cleaner; 2 rags", "tools: bar; consumables: cleaner, 2 rags"),
        ("drivers " * 25, "brushes " * 25, "drivers …; consumables: " + "brushes " * 23 + "…"),
    ):
        Operation.objects.update(tools=tools, consumables=consumables)
        operation.refresh_from_db()
        bring = actions.put_operation(TESTER, dairy_card(), operation, uid=uuid.uuid4()).lines[0].bring
        assert bring.endswith(ends) and len(bring) <= 400


def test_only_what_is_missing_beside_an_offered_line(company):
    kit, card = kit_of(dairy_card()), dairy_card()
    less, more = (place.operation for place in kit.operations.all())
    first = actions.put_operation(TESTER, card, less, uid=uuid.uuid4()).lines[0]
    actions.write_answers(card, {first.pk: Line.Answer.OFFERED})
    done = actions.put_operation(TESTER, card, more, uid=uuid.uuid4())
    oil = done.lines[0].parts.get()
    assert (oil.quantity, oil.amount, first.parts.get(fluid="Engine oil").quantity) == (D(1), D("10.00"), D("7.4"))
    assert "here is only the 1 more" in done.shared[0]


def test_what_was_filled_by_a_line_that_is_done_does_not_count(company):
    kit, card = kit_of(dairy_card()), dairy_card()
    less, more = (place.operation for place in kit.operations.all())
    first = actions.put_operation(TESTER, card, less, uid=uuid.uuid4()).lines[0]
    Line.objects.filter(pk=first.pk).update(answer="accepted", progress="done")
    assert actions.put_operation(TESTER, card, more, uid=uuid.uuid4()).lines[0].parts.get().quantity == D("8.4")


def test_what_is_changed_in_the_catalogue_changes_no_card(company):
    kit, card = kit_of(dairy_card()), dairy_card()
    put_on = actions.put_kit(TESTER, card, kit, uid=uuid.uuid4())
    before = [[line.words, line.own_minutes, *map(columns, line.parts.all())] for line in put_on.lines]
    operation = put_on.lines[0].from_operation
    catalogue.change_operation(TESTER, operation, seen=0, words="Other", own_minutes=99, parts=[])
    assert [[line.words, line.own_minutes, *map(columns, line.parts.all())] for line in card.lines.all()] == before


def test_the_sheet_shows_minutes_and_price_with_access(company, as_mechanic):
    """Front seal: 30 + 24 + 75 min at 78.00 an hour are 39.00 + 31.20 + 97.50, parts 98.50: 266.20; own exact arithmetic."""
    kit_of(dairy_card())
    page = as_mechanic.get(reverse("jobs:catalogue", args=[dairy_card().pk])).content.decode()
    assert "266.20" in page
    assert page.count("Put on the card") == 3


@pytest.mark.parametrize(("asked", "there"), [("front", True), ("SEAL front", True), ("gearbox", False), ("\x00", True), (HOSTILE, False)])
def test_it_is_found_by_words(company, as_mechanic, asked, there):
    actions.save_operation(TESTER, front(dairy_card())[0])
    page = as_mechanic.get(reverse("jobs:catalogue", args=[dairy_card().pk]), {"q": asked}).content.decode()
    assert ("Front seal" in page) is there
    assert HOSTILE not in page


def test_what_is_gone_or_never_was_is_refused(company, as_mechanic):
    kit, card = kit_of(dairy_card()), dairy_card()
    operation = kit.operations.first().operation
    catalogue.retire_operation(TESTER, operation, "No such seal any more")
    catalogue.retire_kit(TESTER, kit, "Old engine")
    before = told()
    for typed in ({}, {"kit": a_uid()}, {"operation": "x"}, {"operation": operation.uid}, {"kit": kit.uid}, {"kit": kit.uid, "uid": "1"}):
        answer = as_mechanic.post(reverse("jobs:put_on", args=[card.pk]), {"uid": a_uid(), **typed})
        assert answer.status_code == 422
    assert "Old engine" in put(as_mechanic, card, kit=kit.uid).content.decode()
    assert (card.lines.count(), told()) == (0, before)


def test_a_closed_card_takes_nothing(company, as_mechanic):
    kit, card = kit_of(dairy_card()), dairy_card()
    actions.mark_ready(TESTER, card)
    actions.close_card(TESTER, card)
    assert put(as_mechanic, card, kit=kit.uid).status_code == 422
    assert card.steps.count() == 0


def test_the_sheet_costs_the_same_queries_for_one_and_for_many(company, as_mechanic):
    card = dairy_card()
    where = reverse("jobs:catalogue", args=[card.pk])

    def count():
        with CaptureQueriesContext(
            connection,
        ) as asked:
            as_mechanic.get(where)
        return len(asked)

    kit_of(dairy_card())
    few = count()
    for _ in range(4):
        kit_of(dairy_card())
    assert count() == few


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles(company, request, who):
    card, client = dairy_card(), request.getfixturevalue(who)
    line = front(card)[0]
    assert client.get(reverse("jobs:catalogue", args=[card.pk])).status_code == 403
    assert client.post(reverse("jobs:put_on", args=[card.pk])).status_code == 403
    assert client.post(reverse("jobs:kit_new", args=[card.pk])).status_code == 403
    assert client.post(reverse("jobs:operation_new", args=[line.uid])).status_code == 403
