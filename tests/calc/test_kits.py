"""calc.kits: what kits need together and what to buy. Worked examples are reckoned by hand, no published source."""

from decimal import Decimal as D

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.calc.kits import Item, buy, need, topped_up

COOLER = [
    Item("washer M12", D(4)),
    Item("lock nut", D(4)),
    Item("gasket", D(3)),
    Item("oil", D("8.4"), "oil"),
    Item("filter", D(1), "filter"),
]
CHAIN = [Item("seal", D(4)), Item("stretch bolt", D(4)), Item("pipe", D(4)), Item("oil", D("8.4"), "oil"), Item("filter", D(1), "filter")]

items = st.builds(
    Item,
    words=st.sampled_from(["washer", "bolt", "seal"]),
    quantity=st.decimals(0, 50, places=3),
    shared=st.sampled_from(["", "oil", "Oil", "filter"]),
)
kits = st.lists(st.lists(items, max_size=5), max_size=4)


def test_two_kits_behind_one_drain_fill_it_once():
    together = need([COOLER, CHAIN])
    assert (together["oil"], together["filter"]) == (D("8.4"), D(1))
    assert (together["washer M12"], together["stretch bolt"], together["seal"]) == (D(4), D(4), D(4))


def test_four_washers_from_a_pack_of_ten_leave_six():
    assert buy(D(4), pack=D(10)) == D(10)
    assert buy(D(4), pack=D(10)) - D(4) == D(6)


def test_a_spare_for_the_one_that_falls_and_what_is_in_stock():
    assert buy(D(10), spare=D(1), pack=D(10)) == D(20)
    assert buy(D(10), spare=D(1), stock=D(1), pack=D(10)) == D(10)
    assert buy(D(4), stock=D(9)) == D(0)


def test_the_same_hardware_in_two_kits_adds_up():
    assert need([[Item("Bolt", D(4))], [Item("bolt", D(2))]]) == {"Bolt": D(6)}


def test_only_what_is_missing_is_added():
    assert (topped_up(D("7.4"), D("8.4")), topped_up(D("8.4"), D("7.4"))) == (D(1), D(0))


@pytest.mark.parametrize("wrong", [-1, 1.5, D("NaN")])
def test_what_is_no_quantity_is_refused_by_name(wrong):
    with pytest.raises(ValueError, match="quantity of oil"):
        Item("oil", wrong)
    with pytest.raises(ValueError, match="need"):
        buy(wrong)


def test_a_pack_of_nothing_is_refused():
    with pytest.raises(ValueError, match="pack"):
        buy(D(1), pack=D(0))


@given(kits)
def test_together_never_less_than_each_kit_alone_and_never_more_than_all(some):
    together = {name.casefold(): quantity for name, quantity in need(some).items() if name.casefold() in {"oil", "filter"}}
    alone = [{name.casefold(): q for name, q in need([kit]).items()} for kit in some]
    for one in alone:
        for name in one.keys() & {"oil", "filter"}:
            assert together[name] >= one[name]
    for name, quantity in need(some).items():
        assert quantity <= sum((one.get(name.casefold(), D(0)) for one in alone), D(0))


@given(kits, st.randoms())
def test_the_order_does_not_matter(some, luck):
    shuffled = [luck.sample(kit, len(kit)) for kit in luck.sample(some, len(some))]
    assert need(shuffled) == need(some)


@given(st.decimals(0, 500, places=3), st.decimals(0, 500, places=3), st.decimals(0, 5, places=3), st.integers(1, 20))
def test_what_is_bought_is_enough_in_whole_packs_and_no_pack_too_many(needed, stock, spare, size):
    pack = D(size)
    bought = buy(needed, stock=stock, spare=spare, pack=pack)
    assert bought + stock >= needed + spare
    assert bought % pack == 0
    assert bought == 0 or bought - pack + stock < needed + spare
