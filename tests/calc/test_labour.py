"""Labour with shared access: two worked jobs by hand, laws on unrounded money, and 10,000 random jobs against a plain sum."""

import random
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop.calc import labour
from workshop.calc.labour import Operation, SetPrice, Step

TAX = Decimal("0.22")
RATES = (Decimal("78.00"), Decimal("82.50"))

# An invented engine front, worked out by hand: tray <- drain; tray <- drive belt <- cover <- timing belt.
FRONT = (
    Step("tray", 12, 12),
    Step("drain", 15, 30, ("tray",), Decimal("46.20")),
    Step("drive belt", 25, 25, ("tray",)),
    Step("cover", 35, 40, ("drive belt",), Decimal("38.00")),
    Step("timing belt off", 20, 35, ("cover",)),
)
FRONT_WORK = (
    Operation("B", 18, Decimal("214.00"), ("timing belt off",)),
    Operation("P", 36, Decimal("150.60"), ("timing belt off", "drain")),
    Operation("S", 30, Decimal("24.50"), ("timing belt off",)),
    Operation("T", 15, Decimal("35.20"), ("drain",)),
)

# An invented clutch job. Of the two flywheel lines one is picked.
CLUTCH = (
    Step("intake", 6, 6),
    Step("tray", 8, 8),
    Step("propshafts", 14, 16, ("tray",)),
    Step("gearbox out", 78, 92, ("propshafts",), Decimal("50.40")),
    Step("clutch off", 16, 22, ("gearbox out",), Decimal("13.50")),
)
CLUTCH_WORK = (
    Operation("breather", 32, Decimal("118.00"), ("intake",)),
    Operation("mount", 12, Decimal("6.80"), ("tray",)),
    Operation("rear seal", 34, Decimal("41.20"), ("clutch off",)),
    Operation("clutch", 24, Decimal("268.00"), ("clutch off",)),
    Operation("flywheel new", 18, Decimal("612.00"), ("clutch off",)),
    Operation("flywheel refaced", 25, Decimal("95.00"), ("clutch off",)),
    Operation("input seal", 22, Decimal("18.40"), ("gearbox out",)),
)
REFACED = ("breather", "mount", "rear seal", "clutch", "flywheel refaced", "input seal")


def front(accepted: str, rate: Decimal = RATES[0]) -> SetPrice:
    return labour.price_set(FRONT_WORK, FRONT, tuple(accepted), rate_per_hour=rate, tax_rate=TAX)


def clutch(*accepted: str) -> SetPrice:
    return labour.price_set(CLUTCH_WORK, CLUTCH, accepted, rate_per_hour=RATES[0], tax_rate=TAX)


def front_change(accepted: str, key: str) -> Decimal:
    return labour.change(FRONT_WORK, FRONT, tuple(accepted), key, rate_per_hour=RATES[0], tax_rate=TAX)


@pytest.mark.parametrize(
    ("accepted", "minutes", "work", "parts", "net", "gross"),
    [
        ("B", 222, "288.60", "252.00", "540.60", "659.53"),
        ("P", 285, "370.50", "234.80", "605.30", "738.47"),
        ("S", 234, "304.20", "62.50", "366.70", "447.37"),
        ("T", 84, "109.20", "81.40", "190.60", "232.53"),
        ("BP", 303, "393.90", "448.80", "842.70", "1028.09"),
        ("BPST", 348, "452.40", "508.50", "960.90", "1172.30"),
    ],
)
def test_the_engine_front_at_78_00(accepted: str, minutes: int, work: str, parts: str, net: str, gross: str) -> None:
    price = front(accepted)
    assert (price.minutes, price.net, price.gross) == (minutes, Decimal(net), Decimal(gross))
    assert sum(line.labour for line in price.lines) == Decimal(work)
    assert sum(line.parts for line in price.lines) == Decimal(parts)


@pytest.mark.parametrize(
    ("accepted", "net", "gross"),
    [
        ("B", "557.26", "679.86"),
        ("P", "626.69", "764.56"),
        ("S", "384.26", "468.80"),
        ("T", "196.91", "240.23"),
        ("BP", "865.44", "1055.84"),
        ("BPST", "987.02", "1204.16"),
    ],
)
def test_the_engine_front_at_82_50_where_rounding_shows(accepted: str, net: str, gross: str) -> None:
    price = front(accepted, RATES[1])
    assert (price.net, price.gross) == (Decimal(net), Decimal(gross))


def test_four_alone_cost_far_more_than_four_together() -> None:
    alone = [labour.alone(FRONT_WORK, FRONT, key, rate_per_hour=RATES[0], tax_rate=TAX).gross for key in "BPST"]
    assert sum(alone) == Decimal("2077.90")


def test_lines_come_as_given_operations_first_then_the_needed_steps() -> None:
    price = labour.price_set(FRONT_WORK, FRONT, {"T", "B"}, rate_per_hour=RATES[0], tax_rate=TAX)
    assert [(line.key, line.kind) for line in price.lines] == [
        ("B", "operation"),
        ("T", "operation"),
        ("tray", "step"),
        ("drain", "step"),
        ("drive belt", "step"),
        ("cover", "step"),
        ("timing belt off", "step"),
    ]
    assert price.lines[0] == labour.PricedLine("B", "operation", 18, Decimal("23.40"), Decimal("214.00"), Decimal("237.40"))
    assert price.lines[3] == labour.PricedLine("drain", "step", 45, Decimal("58.50"), Decimal("46.20"), Decimal("104.70"))


@pytest.mark.parametrize(
    ("accepted", "key", "less"),
    [
        ("BP", "P", "368.56"),
        ("BP", "B", "289.62"),
        ("BPST", "B", "289.63"),
        ("BPST", "P", "240.83"),
        ("BPST", "S", "77.47"),
        ("BPST", "T", "66.74"),
    ],
)
def test_what_leaving_a_line_out_takes_off(accepted: str, key: str, less: str) -> None:
    assert front_change(accepted, key) == -Decimal(less)
    assert front_change(accepted.replace(key, ""), key) == Decimal(less)


def test_shown_prices_add_up_and_may_differ_by_a_coin_from_what_a_choice_changes() -> None:
    price = front("BP")
    shown = labour.shown_prices(price)
    assert [line.gross for line in shown if line.kind == "operation"] == [Decimal("289.63"), Decimal("240.83")]
    assert labour.shown_access(shown) == Decimal("497.63")
    assert sum(line.gross for line in shown) == price.gross
    assert front_change("BP", "B") == Decimal("-289.62")


def test_stopped_after_opening_owes_opening_closing_and_what_was_used_up() -> None:
    def stopped(rate: Decimal) -> SetPrice:
        return labour.stopped_after_opening(FRONT, ("timing belt off",), rate_per_hour=rate, tax_rate=TAX)

    assert (stopped(RATES[0]).minutes, stopped(RATES[0]).net, stopped(RATES[0]).gross) == (204, Decimal("303.20"), Decimal("369.90"))
    assert (stopped(RATES[1]).net, stopped(RATES[1]).gross) == (Decimal("318.51"), Decimal("388.58"))


@pytest.mark.parametrize(
    ("accepted", "minutes", "net", "gross"),
    [
        (("breather", "mount", "rear seal", "clutch", "flywheel new", "input seal"), 408, "1658.70", "2023.61"),
        (REFACED, 415, "1150.80", "1403.98"),
        (tuple(key for key in REFACED if key != "input seal"), 393, "1103.80", "1346.64"),
        (tuple(key for key in REFACED if key != "rear seal"), 381, "1065.40", "1299.79"),
        (("rear seal",), 288, "479.50", "584.99"),
    ],
)
def test_the_clutch_job(accepted: tuple[str, ...], minutes: int, net: str, gross: str) -> None:
    price = clutch(*accepted)
    assert (price.minutes, price.net, price.gross) == (minutes, Decimal(net), Decimal(gross))


def test_the_clutch_job_stripped_and_then_all_refused() -> None:
    price = labour.stopped_after_opening(CLUTCH, ("clutch off",), rate_per_hour=RATES[0], tax_rate=TAX)
    assert (price.minutes, price.net, price.gross) == (254, Decimal("394.10"), Decimal("480.80"))


def test_the_rear_seal_costs_little_now_and_much_later() -> None:
    assert labour.change(CLUTCH_WORK, CLUTCH, REFACED, "rear seal", rate_per_hour=RATES[0], tax_rate=TAX) == Decimal("-104.19")


def test_who_keeps_a_step() -> None:
    users = labour.users_of_step(FRONT_WORK, FRONT, ("B", "T"))
    assert users == {"tray": ("B", "T"), "drain": ("T",), "drive belt": ("B",), "cover": ("B",), "timing belt off": ("B",)}
    assert labour.needed_steps(FRONT_WORK, FRONT, ("T",)) == ("tray", "drain")


def test_a_line_of_only_words_and_a_price_is_a_whole_line() -> None:
    price = labour.price_set([Operation("words", 0, Decimal("60.00"))], [], ["words"], rate_per_hour=RATES[0], tax_rate=TAX)
    assert (price.minutes, price.net, price.tax, price.gross) == (0, Decimal("60.00"), Decimal("13.20"), Decimal("73.20"))


def test_nothing_accepted_costs_nothing() -> None:
    price = front("")
    assert (price.minutes, price.lines, price.net, price.tax, price.gross) == (0, (), 0, 0, 0)
    assert labour.shown_prices(price) == ()


def priced(operations: tuple[Operation, ...] = FRONT_WORK, steps: tuple[Step, ...] = FRONT, accepted: object = ("B",)) -> SetPrice:
    return labour.price_set(operations, steps, accepted, rate_per_hour=RATES[0], tax_rate=TAX)  # type: ignore[arg-type]


def test_a_circle_of_steps_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="a needs b needs a"):
        priced((), (Step("a", 1, 1, ("b",)), Step("b", 1, 1, ("a",))), ())
    with pytest.raises(ValueError, match="a needs a"):
        priced((), (Step("a", 1, 1, ("a",)),), ())
    with pytest.raises(ValueError, match="b needs c needs d needs b"):
        priced((), (Step("a", 1, 1, ("b",)), Step("b", 1, 1, ("c",)), Step("c", 1, 1, ("d",)), Step("d", 1, 1, ("b",))), ())


def test_two_ways_to_the_same_step_are_no_circle() -> None:
    steps = (Step("a", 1, 1), Step("b", 1, 1, ("a",)), Step("c", 1, 1, ("a",)), Step("d", 1, 1, ("b", "c")))
    assert labour.needed_steps([Operation("x", 1, needs=("d",))], steps, ["x"]) == ("a", "b", "c", "d")


def test_unknown_keys_and_duplicates_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="no operation X"):
        priced(accepted=("X",))
    with pytest.raises(ValueError, match="B needs a step roof, which is not there"):
        priced((Operation("B", 1, needs=("roof",)),))
    with pytest.raises(ValueError, match="tray needs a step roof, which is not there"):
        priced(steps=(Step("tray", 1, 1, ("roof",)),), operations=(Operation("B", 1),))
    with pytest.raises(ValueError, match="two operations B"):
        priced((Operation("B", 1), Operation("B", 2)))
    with pytest.raises(ValueError, match="two steps tray"):
        priced(steps=(*FRONT, Step("tray", 1, 1)))
    with pytest.raises(ValueError, match="accepted names B more than once"):
        priced(accepted=("B", "B"))
    with pytest.raises(ValueError, match="not the text"):
        priced(accepted="BP")
    with pytest.raises(ValueError, match="no step roof"):
        labour.stopped_after_opening(FRONT, ("roof",), rate_per_hour=RATES[0], tax_rate=TAX)


def test_floats_and_negatives_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="parts_amount of B must be a Decimal"):
        Operation("B", 1, 1.5)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="own_minutes of B must be whole minutes"):
        Operation("B", 1.0)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="own_minutes of B must be zero or more"):
        Operation("B", -1)
    with pytest.raises(ValueError, match="close_minutes of tray must be zero or more"):
        Step("tray", 1, -1)
    with pytest.raises(ValueError, match="material_amount of tray must be zero or more"):
        Step("tray", 1, 1, (), Decimal("-0.01"))
    with pytest.raises(ValueError, match="parts_amount of B"):
        Operation("B", 1, Decimal("NaN"))
    with pytest.raises(ValueError, match="needs of B must be a tuple"):
        Operation("B", 1, Decimal(0), "tray")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="rate_per_hour must be a Decimal"):
        labour.price_set(FRONT_WORK, FRONT, ("B",), rate_per_hour=78.0, tax_rate=TAX)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match=r"22 % is 0\.22"):
        labour.price_set(FRONT_WORK, FRONT, ("B",), rate_per_hour=RATES[0], tax_rate=Decimal(22))


# Laws. They hold on unrounded money; on coins each line may move by half a coin, so no customer is promised "each extra is cheaper".

keys = st.integers(0, 5)
amounts = st.integers(0, 50_000).map(lambda coins: Decimal(coins).scaleb(-2))


@st.composite
def jobs(draw: st.DrawFn) -> tuple[tuple[Operation, ...], tuple[Step, ...], frozenset[str]]:
    steps = []
    for place in range(draw(keys)):
        needs = draw(st.frozensets(st.sampled_from(range(place)), max_size=2)) if place else frozenset()
        minutes = draw(st.tuples(st.integers(0, 90), st.integers(0, 90)))
        steps.append(Step(f"s{place}", *minutes, tuple(f"s{need}" for need in sorted(needs)), draw(amounts)))
    needs = st.frozensets(st.sampled_from([step.key for step in steps]), max_size=3) if steps else st.just(frozenset())
    operations = [
        Operation(f"o{place}", draw(st.integers(0, 120)), draw(amounts), tuple(sorted(draw(needs)))) for place in range(1 + draw(keys))
    ]
    accepted = draw(st.frozensets(st.sampled_from([operation.key for operation in operations])))
    return tuple(operations), tuple(steps), accepted


def unrounded(price: SetPrice, rate: Decimal = RATES[1]) -> Fraction:
    return sum((Fraction(line.minutes) * Fraction(rate) / 60 + Fraction(line.parts) for line in price.lines), Fraction(0))


def job_price(job: tuple[tuple[Operation, ...], tuple[Step, ...], frozenset[str]], accepted: frozenset[str] | None = None) -> SetPrice:
    chosen = job[2] if accepted is None else accepted
    return labour.price_set(job[0], job[1], chosen, rate_per_hour=RATES[1], tax_rate=TAX)


@settings(max_examples=12, deadline=None)
@given(jobs(), st.randoms(use_true_random=False))
def test_the_order_of_lines_never_matters(job: tuple, shuffler: random.Random) -> None:
    operations, steps = list(job[0]), list(job[1])
    shuffler.shuffle(operations)
    shuffler.shuffle(steps)
    shuffled, straight = job_price((tuple(operations), tuple(steps), job[2])), job_price(job)
    assert (shuffled.minutes, shuffled.net, shuffled.gross, unrounded(shuffled)) == (
        straight.minutes,
        straight.net,
        straight.gross,
        unrounded(straight),
    )


@settings(max_examples=12, deadline=None)
@given(jobs())
def test_adding_a_line_never_lowers_the_total_and_never_adds_more_than_it_would_have_earlier(job: tuple) -> None:
    everything = frozenset(operation.key for operation in job[0])
    for key in everything - job[2]:
        now = unrounded(job_price(job, job[2] | {key})) - unrounded(job_price(job))
        assert 0 <= now <= unrounded(job_price(job, frozenset({key})))
        assert job_price(job, job[2] | {key}).gross >= job_price(job).gross


@settings(max_examples=12, deadline=None)
@given(jobs())
def test_a_step_goes_with_the_last_line_that_uses_it(job: tuple) -> None:
    for step, users in labour.users_of_step(*job).items():
        assert step in labour.needed_steps(job[0], job[1], set(users))
        assert step not in labour.needed_steps(job[0], job[1], job[2] - set(users))
        if len(users) > 1:
            assert step in labour.needed_steps(job[0], job[1], job[2] - {users[0]})


@settings(max_examples=12, deadline=None)
@given(jobs())
def test_shown_prices_always_add_up_to_the_total(job: tuple) -> None:
    price = job_price(job)
    shown = labour.shown_prices(price)
    assert sum(line.gross for line in shown) == price.gross
    assert all(
        abs(line.gross - priced_line.net * (1 + TAX)) <= Decimal("0.02") for line, priced_line in zip(shown, price.lines, strict=True)
    )


def plain_rows(work: list[dict], access: dict[str, dict], chosen: set[str]) -> list[tuple[int, Decimal]]:
    """Minutes and parts of what is done and opened, from the rule in words, with dictionaries and recursion; no code of workshop.calc."""

    def opened(name: str) -> set[str]:
        return {name}.union(*(opened(before) for before in access[name]["needs"]))

    bought = [row for row in work if row["name"] in chosen]
    needed: set[str] = set().union(*(opened(name) for row in bought for name in row["needs"]))
    return [(row["minutes"], row["parts"]) for row in [*bought, *(access[name] for name in needed)]]


def plain_sum(rows: list[tuple[int, Decimal]], rate: Decimal) -> tuple[int, Decimal, Decimal]:
    coin = Decimal("0.01")
    net = sum(((minutes * rate / 60).quantize(coin, ROUND_HALF_UP) + parts for minutes, parts in rows), Decimal(0))
    return sum(minutes for minutes, _ in rows), net, net + (net * TAX).quantize(coin, ROUND_HALF_UP)


def test_ten_thousand_random_jobs_equal_a_plain_sum_at_both_rates() -> None:
    dice = random.Random(20261125).random
    coins = [Decimal(number).scaleb(-2) for number in range(60_000)]
    for _ in range(10_000):
        access, steps = {}, []
        for place in range(int(dice() * 4)):
            needs = tuple(f"s{before}" for before in range(place) if dice() < 0.4)
            opening, closing, material = int(dice() * 90), int(dice() * 90), coins[int(dice() * 9_000)]
            access[f"s{place}"] = {"minutes": opening + closing, "parts": material, "needs": needs}
            steps.append(Step(f"s{place}", opening, closing, needs, material))
        work, operations = [], []
        for place in range(1 + int(dice() * 3)):
            needs = tuple(name for name in access if dice() < 0.4)
            minutes, parts = int(dice() * 120), coins[int(dice() * 60_000)]
            work.append({"name": f"o{place}", "minutes": minutes, "parts": parts, "needs": needs})
            operations.append(Operation(f"o{place}", minutes, parts, needs))
        chosen = {row["name"] for row in work if dice() < 0.7}
        rows = plain_rows(work, access, chosen)
        for rate in RATES:
            price = labour.price_set(operations, steps, chosen, rate_per_hour=rate, tax_rate=TAX)
            assert (price.minutes, price.net, price.gross) == plain_sum(rows, rate)
