"""Shares of several payers: a worked example by hand, and that nets always add up."""

import itertools
import random
from decimal import Decimal

import pytest

from tests.calc.test_choices import a_job, job
from tests.calc.test_labour import RATES
from workshop.calc import choices, tax
from workshop.calc.choices import Opening
from workshop.calc.payers import RULES, Sharing, split

PAYS = {"B": "owner", "P": "warranty", "S": "owner", "T": "owner"}


def test_story_21_who_forced_entry_pays_it():
    """The pump on warranty forced entry: 605.30 and 237.40 net, 738.47 and 289.63 with tax; the documents come to 1,028.10."""
    shares = split(job(), ["B", "P"], Sharing(PAYS, "forced_entry", "P"))
    assert shares == {"warranty": Decimal("605.30"), "owner": Decimal("237.40")}
    assert list(shares) == ["warranty", "owner"]
    taxed = [tax.from_net(net, Decimal("0.22")).gross for net in shares.values()]
    assert taxed == [Decimal("738.47"), Decimal("289.63")]
    assert sum(taxed) == Decimal("1028.10")


def test_in_equal_parts_by_line_is_the_average_over_all_orders():
    shares = split(job(), ["B", "P"], Sharing(PAYS, "per_line"))
    assert shares == {"owner": Decimal("389.00"), "warranty": Decimal("453.70")}
    keys = ["B", "P", "S"]
    pays = {key: key for key in keys}
    added = dict.fromkeys(keys, Decimal(0))
    orders = list(itertools.permutations(keys))
    for order in orders:
        for place, key in enumerate(order):
            added[key] += choices.price(job(), order[: place + 1]).net - choices.price(job(), order[:place]).net
    shared = split(job(), keys, Sharing(pays, "per_line"))
    assert all(abs(shared[key] - added[key] / len(orders)) <= Decimal("0.03") for key in keys)


def test_by_own_time():
    shares = split(job(), ["B", "P"], Sharing(PAYS, "own_time"))
    assert shares["owner"] < shares["warranty"]
    assert sum(shares.values()) == Decimal("842.70")


def test_what_was_opened_before_goes_to_the_first():
    shares = split(job(openings=[Opening("drain", "closed"), Opening("tray", "open")]), ["S", "P"], Sharing(PAYS, "per_line"))
    assert next(iter(shares)) == "owner"
    assert sum(shares.values()) == choices.price(job(openings=[Opening("drain", "closed"), Opening("tray", "open")]), ["S", "P"]).net


@pytest.mark.parametrize("rule", RULES)
def test_nets_add_up_exactly(rule):
    chance = random.Random(f"payers {rule}")
    for _ in range(60):
        what = a_job(chance, RATES[1])
        keys = [operation.key for operation in what.operations]
        pays = {key: chance.choice(["first", "second", "third"]) for key in keys}
        shares = split(what, keys, Sharing(pays, rule, keys[0]))
        assert sum(shares.values()) == choices.price(what, keys).net
        assert set(shares) == set(pays.values())
        assert min(shares.values()) >= 0


@pytest.mark.parametrize(
    ("sharing", "sentence"),
    [
        (Sharing({"B": "owner"}, "per_line"), "Nobody is named who pays P"),
        (Sharing(PAYS, "evenly"), "not 'evenly'"),
        (Sharing(PAYS, "forced_entry", "T"), "Name the accepted line"),
    ],
)
def test_nonsense_is_refused(sharing, sentence):
    with pytest.raises(ValueError, match=sentence):
        split(job(), ["B", "P"], sharing)
