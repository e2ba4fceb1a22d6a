"""The price of any choice: two worked jobs by hand, a plain sum over every subset of random jobs, and laws on money before rounding."""

import itertools
import random
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest

from tests.calc.test_labour import CLUTCH, CLUTCH_WORK, FRONT, FRONT_WORK, RATES, REFACED
from workshop.calc import choices
from workshop.calc.choices import Adjust, Job, Opening, Problem, Relation
from workshop.calc.labour import Operation, Step

TAXES = {"standard": Decimal("0.22"), "zero": Decimal(0)}
CALL_OUT = Decimal("137.63")


def job(operations=FRONT_WORK, steps=FRONT, rate=RATES[0], **more):
    rates = {"workshop": rate, "apprentice": Decimal("41.00")}
    return Job(tuple(operations), tuple(steps), rates, TAXES, call_out_net=CALL_OUT, **more)


def gross(what, accepted):
    return choices.price(what, list(accepted)).gross


# --- the worked engine front ---


def test_story_1_decline_one_of_two():
    """B + P at 1,028.09; without P 659.53, 368.56 less; 45 minutes of draining and its coolant go with it."""
    front = job()
    both, alone = choices.price(front, list("BP")), choices.price(front, ["B"])
    assert (both.gross, alone.gross, choices.saves(front, ["B", "P"], "P")) == (Decimal("1028.09"), Decimal("659.53"), Decimal("368.56"))
    opened = sum(line.minutes for line in alone.lines if line.kind == "step")
    assert opened == 204
    assert "drain" not in {line.key for line in alone.lines}
    assert both.materials - alone.materials == Decimal("46.20")


def test_story_2_all_declined_after_the_strip():
    """Timing belt off, then everything refused: 265.20 of labour and the gasket, 369.90 with tax; said before the first bolt."""
    said = choices.stopped(job(), ["timing belt off"])
    assert (said.minutes, said.net, said.gross) == (204, Decimal("303.20"), Decimal("369.90"))
    assert choices.stopped(job(rate=RATES[1]), ["timing belt off"]).gross == Decimal("388.58")
    opened = job(openings=[Opening(step, "open") for step in ("tray", "drive belt", "cover", "timing belt off")])
    assert choices.price(opened, []) == said


def test_story_3_while_it_is_open_and_after_closing():
    """The pump while the belt is off costs 368.56 more; once closing began it is opened anew, and a day later comes with its call-out."""
    served = [Opening(step, "open", ("B",)) for step in ("tray", "drive belt", "cover", "timing belt off")]
    closing = [Opening(opening.step, "closing", ("B",)) for opening in served]
    assert gross(job(openings=served), ["B", "P"]) - gross(job(openings=served), ["B"]) == Decimal("368.56")
    assert gross(job(openings=closing), ["B", "P"]) - gross(job(openings=closing), ["B"]) == Decimal("738.47")
    assert choices.later(job(openings=closing), "P") == Decimal("906.38")
    assert choices.later(job(), "P") - Decimal("368.56") == Decimal("537.82")


def test_opened_again_through_our_fault_is_free():
    before = [Opening("tray", "closed", ("T",)), Opening("drain", "closed", ("T",))]
    again = [*before, Opening("tray", "open", ("T",), free=True), Opening("drain", "open", ("T",), free=True)]
    paid = [*before, Opening("tray", "open", ("T",)), Opening("drain", "open", ("T",))]
    once = gross(job(), ["T"])
    assert gross(job(openings=before), ["T"]) == gross(job(openings=again), ["T"]) == once
    assert gross(job(openings=paid), ["T"]) > once
    lines = choices.price(job(openings=paid), ["T"]).lines
    assert [(line.key, line.times) for line in lines if line.kind == "step"] == [("tray", 1), ("tray", 2), ("drain", 1), ("drain", 2)]


@pytest.mark.parametrize(
    ("rate", "accepted", "sum_gross"),
    [
        (0, "B", "659.53"), (0, "P", "738.47"), (0, "S", "447.37"), (0, "T", "232.53"), (0, "BP", "1028.09"), (0, "BPST", "1172.30"),
        (1, "B", "679.86"), (1, "P", "764.56"), (1, "S", "468.80"), (1, "T", "240.23"), (1, "BP", "1055.84"), (1, "BPST", "1204.16"),
    ],
)  # fmt: skip
def test_the_table_of_the_engine_front(rate, accepted, sum_gross):
    assert gross(job(rate=RATES[rate]), accepted) == Decimal(sum_gross)


def test_declining_from_all_four():
    said = {key: choices.saves(job(), list("BPST"), key) for key in "BPST"}
    assert said == {"B": Decimal("289.63"), "P": Decimal("240.83"), "S": Decimal("77.47"), "T": Decimal("66.74")}


def test_the_table_of_the_clutch():
    """The flywheel is picked: new or refaced. 2,023.61 and 1,403.98; without the seals; stripped and refused 480.80."""
    clutch = job(CLUTCH_WORK, CLUTCH, relations=(Relation("excludes", "flywheel new", "flywheel refaced", "one flywheel"),))
    new = [key for key in REFACED if key != "flywheel refaced"] + ["flywheel new"]
    assert gross(clutch, new) == Decimal("2023.61")
    assert gross(clutch, REFACED) == Decimal("1403.98")
    assert gross(clutch, [key for key in REFACED if key != "input seal"]) == Decimal("1346.64")
    assert gross(clutch, [key for key in REFACED if key != "rear seal"]) == Decimal("1299.79")
    assert choices.later(clutch, "rear seal") == Decimal("752.90")
    assert choices.saves(clutch, REFACED, "rear seal") == Decimal("104.19")
    assert choices.stopped(clutch, ["clutch off"]).gross == Decimal("480.80")
    assert choices.problems(clutch, [*REFACED, "flywheel new"]) == (
        Problem("excludes", "flywheel new", "flywheel refaced", "one flywheel"),
    )
    assert choices.problems(clutch, REFACED) == ()


def test_the_explanation_names_who_keeps_what_open():
    kept = choices.explained(choices.price(job(), list("BPS")))
    assert kept[0].users == ("B", "P", "S")
    assert kept[0].steps == ("tray", "drive belt", "cover", "timing belt off")
    assert (kept[1].users, kept[1].steps, kept[1].net) == (("P",), ("drain",), Decimal("104.70"))
    opened = choices.explained(choices.price(job(openings=[Opening("tray", "open")]), []))
    assert opened[0].users == ()


# --- what lines do to each other ---


def test_relations_are_problems_until_they_are_settled():
    relations = (
        Relation("requires", "B", "S", "the seal weeps onto the belt"),
        Relation("supersedes", "P", "T", "sold only in the pump housing"),
        Relation("advised", "B", "P", "same access"),
    )
    front = job(relations=relations)
    assert [problem.kind for problem in choices.problems(front, ["B", "T"])] == ["requires", "supersedes", "advised"]
    assert choices.problems(front, ["B", "S"], answered={("B", "P")}) == ()
    assert choices.problems(front, ["P"]) == ()
    assert choices.problems(front, ["T"])[0] == Problem("supersedes", "T", "P", "sold only in the pump housing")


def test_what_is_included_costs_nothing_beside_it():
    drain = Operation("drain and fill", 10, Decimal("12.00"), ("drain",))
    radiator = Operation("radiator", 60, Decimal("240.00"), ("drain",))
    both = job([drain, radiator], relations=(Relation("includes", "radiator", "drain and fill"),))
    assert gross(both, ["drain and fill", "radiator"]) == gross(both, ["radiator"])
    line = choices.price(both, ["drain and fill", "radiator"]).lines[0]
    assert (line.net, line.inside) == (Decimal(0), "radiator")
    assert gross(both, ["drain and fill"]) > 0


def test_two_lines_that_take_longer_or_shorter_together():
    shorter = job(adjusts=(Adjust("B", "P", -10, "the belt is off already"),))
    longer = job(adjusts=(Adjust("B", "P", 12, "both hang on one bracket"),))
    plain = choices.price(job(), list("BP"))
    assert choices.price(shorter, list("BP")).minutes == plain.minutes - 10
    assert choices.price(longer, list("BP")).minutes == plain.minutes + 12
    assert gross(shorter, ["P"]) == gross(job(), ["P"])


def test_the_cheaper_way_in_is_taken_and_can_be_pinned():
    steps = (Step("arch", 20, 20), Step("top", 15, 15), Step("cover", 10, 10, ("top",)))
    lines = (Operation("hose", 12, Decimal("30.00"), any_of=(("arch", "cover"),)), Operation("lamp", 5, Decimal("9.00"), ("cover",)))
    either = job(lines, steps)
    assert choices.price(either, ["hose"]).ways == {("hose", 0): "arch"}
    assert choices.price(either, ["hose", "lamp"]).ways == {("hose", 0): "cover"}
    pinned = job(lines, steps, pins={("hose", 0): "arch"})
    assert choices.price(pinned, ["hose", "lamp"]).minutes == 12 + 5 + 40 + 50
    many = [Operation(f"line {n}", 1, any_of=(("arch", "top"),)) for n in range(7)]
    with pytest.raises(ValueError, match="7 ways are open"):
        choices.price(job(many, steps), [line.key for line in many])


def test_rates_and_codes_stand_apart():
    lines = (Operation("help", 60, rate_class="apprentice"), Operation("pass", 0, Decimal("50.00"), tax_code="zero"), *FRONT_WORK)
    found = choices.price(job(lines), ["help", "pass", "T"])
    assert found.net_by_class == {"apprentice": Decimal("41.00"), "workshop": Decimal("109.20")}
    assert {code.code: code.tax for code in found.codes} == {"standard": Decimal("50.95"), "zero": Decimal("0.00")}
    assert found.parts + found.materials + sum(found.net_by_class.values()) == found.net


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"relations": (Relation("requires", "B", "X"),)}, "There is no operation X"),
        ({"relations": (Relation("requires", "B", "B"),)}, "in relation to itself"),
        ({"relations": (Relation("helps", "B", "P"),)}, "'helps' is none of these"),
        ({"relations": (Relation("includes", "T", "P"),)}, "T costs less than what it includes"),
        ({"adjusts": (Adjust("B", "P", -19, ""),)}, "B takes 19 min off"),
        ({"openings": (Opening("roof", "open"),)}, "There is no step roof"),
        ({"openings": (Opening("tray", "open"), Opening("tray", "open"))}, "tray is open twice"),
        ({"pins": {("B", 0): "tray"}}, "none of its ways"),
        ({"operations": [Operation("A", 1, rate_class="night")]}, "has the rate class night"),
        ({"operations": [Operation("A", 1, tax_code="odd")]}, "has the tax code odd"),
        ({"operations": [Operation("A", 1, any_of=(("roof",),))]}, "names roof, which is not there"),
    ],
)
def test_nonsense_is_refused_by_name(more, sentence):
    with pytest.raises(ValueError, match=sentence):
        job(**more)


def test_a_choice_of_nonsense_is_refused():
    for accepted, sentence in ((["X"], "no operation X"), (["B", "B"], "more than once"), ("nobody", "not the text")):
        with pytest.raises(ValueError, match=sentence):
            choices.price(job(), accepted)
    with pytest.raises(ValueError, match="nothing to save"):
        choices.saves(job(), ["B"], "P")


# --- every subset of random jobs, by a plain sum of its own ---


def plain(what, accepted, rounded=True):
    """The net of a choice the slow way, in fractions; in coins when `rounded`."""

    def line(minutes, rate, parts):
        value = Fraction(rate) * minutes / 60
        if rounded:
            value = Fraction((Decimal(value.numerator) / Decimal(value.denominator)).quantize(Decimal("0.01"), ROUND_HALF_UP))
        return value + Fraction(parts)

    work = {operation.key: operation for operation in what.operations}
    steps = {step.key: step for step in what.steps}
    chosen = [work[key] for key in accepted]
    best = None
    for taken in itertools.product(*(group for operation in chosen for group in operation.any_of)):
        needed, waiting = set(), [*taken, *(need for operation in chosen for need in operation.needs)]
        while waiting:
            step = waiting.pop()
            if step not in needed:
                needed.add(step)
                waiting += steps[step].needs
        total = sum(line(steps[s].open_minutes + steps[s].close_minutes, what.rates["workshop"], steps[s].material_amount) for s in needed)
        for operation in chosen:
            if any(r.kind == "includes" and r.second == operation.key and r.first in accepted for r in what.relations):
                continue
            more = sum(a.minutes for a in what.adjusts if a.second == operation.key and a.first in accepted)
            total += line(operation.own_minutes + more, what.rates["workshop"], operation.parts_amount)
        best = total if best is None else min(best, total)
    return best


def a_job(chance, rate, most=7):
    """A random job: steps in layers, ways, an included line, pairs that take longer or shorter."""
    steps = []
    for n in range(chance.randint(1, 6)):
        needs = tuple(sorted({f"s{chance.randrange(n)}" for _ in range(chance.randint(0, 2))})) if n else ()
        steps.append(Step(f"s{n}", chance.randint(0, 40), chance.randint(0, 40), needs, Decimal(chance.randint(0, 6000)) / 100))
    keys = [step.key for step in steps]
    lines = []
    for n in range(chance.randint(1, most)):
        ways = (tuple(chance.sample(keys, min(2, len(keys)))),) if chance.random() < 0.3 else ()
        needs = tuple(chance.sample(keys, chance.randint(0, min(2, len(keys)))))
        lines.append(Operation(f"o{n}", chance.randint(0, 90), Decimal(chance.randint(0, 30000)) / 100, needs, any_of=ways))
    adjusts, relations = (), ()
    if len(lines) > 2:
        least = min(lines[0].own_minutes, lines[1].own_minutes)
        adjusts = (Adjust("o0", "o1", chance.choice([-least, chance.randint(0, 20)]), "random"),)
        small = Operation("small", lines[2].own_minutes // 2, lines[2].parts_amount / 2 // Decimal("0.01") * Decimal("0.01"))
        lines.append(small)
        relations = (Relation("includes", "o2", "small"),)
    return Job(tuple(lines), tuple(steps), {"workshop": rate}, TAXES, relations, adjusts)


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_every_subset_of_random_jobs_equals_a_plain_sum(rate):
    chance = random.Random(f"choices at {rate}")
    for _ in range(12):
        what = a_job(chance, rate, most=5)
        keys = [operation.key for operation in what.operations]
        for size in range(len(keys) + 1):
            for accepted in itertools.combinations(keys, size):
                found = choices.price(what, accepted)
                assert Fraction(found.net) == plain(what, accepted), (what, accepted)
                assert choices.price(what, accepted[::-1]).gross == found.gross


def test_a_line_more_never_makes_it_cheaper_before_rounding():
    chance = random.Random("laws")
    for _ in range(150):
        what = a_job(chance, RATES[1])
        keys = [operation.key for operation in what.operations]
        accepted = [key for key in keys if chance.random() < 0.5]
        without = plain(what, accepted, rounded=False)
        for key in set(keys) - set(accepted):
            assert plain(what, [*accepted, key], rounded=False) >= without, (what, accepted, key)


def test_a_large_job_is_priced_in_few_steps():
    """40 lines, 60 steps: the work grows with lines and steps, not with subsets; counted in calls, not in time."""
    import sys

    steps = [Step(f"s{n}", 5, 5, (f"s{n - 1}",) if n % 7 else ()) for n in range(60)]
    lines = [Operation(f"o{n}", 10, Decimal("5.00"), (f"s{n}", f"s{59 - n}")) for n in range(40)]
    what = job(lines, steps)
    calls = [0]
    sys.setprofile(lambda _frame, event, _arg: calls.__setitem__(0, calls[0] + (event == "call")))
    try:
        choices.price(what, [line.key for line in lines])
    finally:
        sys.setprofile(None)
    assert calls[0] < 6_000
