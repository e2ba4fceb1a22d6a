"""One id, one effect, one receipt."""

import uuid
from collections.abc import Callable
from typing import Any

import pytest

from workshop.outbox import actions, queries
from workshop.outbox.models import Receipt
from workshop.staff.models import User

UID = uuid.UUID("7b1d2f9e-0c3a-4a51-9d0e-5f2f6a1c0001")
OTHER = uuid.UUID("7b1d2f9e-0c3a-4a51-9d0e-5f2f6a1c0002")


def counted() -> tuple[list[int], Callable[[], dict[str, Any]]]:
    calls: list[int] = []

    def effect() -> dict[str, Any]:
        calls.append(1)
        return {"count": len(calls)}

    return calls, effect


def test_the_second_time_gets_the_result_of_the_first(mechanic: User) -> None:
    calls, effect = counted()
    assert actions.once(UID, mechanic, b"body", effect) == ({"count": 1}, True)
    assert actions.once(UID, mechanic, b"body", effect) == ({"count": 1}, False)
    assert len(calls) == 1


def test_another_body_or_another_person_is_a_conflict(mechanic: User, owner: User) -> None:
    calls, effect = counted()
    actions.once(UID, mechanic, b"body", effect)
    for user, body in ((mechanic, b"other"), (owner, b"body"), (None, b"body")):
        with pytest.raises(actions.Conflict):
            actions.once(UID, user, body, effect)
    assert (len(calls), Receipt.objects.count()) == (1, 1)


def test_an_effect_that_fails_leaves_no_receipt(mechanic: User) -> None:
    def effect() -> dict[str, Any]:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        actions.once(UID, mechanic, b"body", effect)
    assert queries.receipt_of(UID) is None


def test_a_receipt_keeps_the_hash_of_its_body(mechanic: User) -> None:
    actions.once(UID, mechanic, b"abc", dict)
    receipt = queries.receipt_of(UID)
    # FIPS 180-4, example B.1: SHA-256 of "abc"
    assert receipt and receipt.body_sha == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_a_phone_that_counts_wrongly_loses_nothing(mechanic: User) -> None:
    actions.once(UID, mechanic, b"one", dict, device="phone", number=3)
    actions.once(OTHER, mechanic, b"two", dict, device="phone", number=3)
    assert list(Receipt.objects.order_by("op_uid").values_list("number", flat=True)) == [3, None]


def test_numbers_that_never_came(mechanic: User) -> None:
    for number in (1, 4):
        actions.once(uuid.uuid4(), mechanic, b"x", dict, device="phone", number=number)
    assert queries.missing_numbers("phone") == [2, 3]
    assert queries.missing_numbers("other") == []
