"""The same value gives the same bytes."""

import json
from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workshop.calc import canonical


def test_keys_sorted_no_spaces_decimals_with_their_places() -> None:
    value = {"b": Decimal("1.50"), "a": [1, None, True, "ü·€"], "on": date(2026, 11, 25), "uid": UUID(int=1)}
    assert canonical.dumps(value) == ('{"a":[1,null,true,"ü·€"],"b":"1.50","on":"2026-11-25","uid":"00000000-0000-0000-0000-000000000001"}')


def test_moments_carry_their_zone() -> None:
    assert canonical.dumps(datetime(2026, 11, 25, 8, 0, tzinfo=UTC)) == '"2026-11-25T08:00:00+00:00"'
    with pytest.raises(TypeError, match="without a zone"):
        canonical.dumps(datetime(2026, 11, 25, 8, 0))  # noqa: DTZ001


def test_large_and_small_decimals_are_written_out() -> None:
    assert canonical.dumps([Decimal("1E+3"), Decimal("1E-7"), Decimal("-0.00")]) == '["1000","0.0000001","-0.00"]'


def test_floats_have_no_canonical_form() -> None:
    for value in (1.0, [1.0], {"a": {"b": 0.1}}, float("nan")):
        with pytest.raises(TypeError, match="use Decimal"):
            canonical.dumps(value)


# Source: FIPS 180-4, the published example for the three bytes "abc".
def test_sha256_of_abc() -> None:
    assert canonical.sha256("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**12), 10**12) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner, max_size=3),
    max_leaves=8,
)


@settings(max_examples=20, deadline=None)
@given(st.dictionaries(st.text(max_size=4), values, max_size=5))
def test_the_order_in_which_keys_were_set_never_matters(value: dict) -> None:
    backwards = dict(reversed(value.items()))
    assert canonical.dumps(value) == canonical.dumps(backwards)
    assert json.loads(canonical.dumps(value)) == value
