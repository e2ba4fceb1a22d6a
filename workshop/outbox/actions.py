"""Exactly once: the effect and its receipt in one transaction."""

import hashlib
import uuid
from collections.abc import Callable
from typing import Any

from django.db import IntegrityError, transaction

from workshop import clock
from workshop.outbox.models import Receipt
from workshop.staff.models import User

EVENTS: dict[str, str] = {}
Result = dict[str, Any]


class Conflict(Exception):
    """The same id came with another body."""


def body_hash(body: bytes) -> str:
    """SHA-256 of a body, hexadecimal, as receipts keep it."""
    return hashlib.sha256(body).hexdigest()


def once(
    op_uid: uuid.UUID, user: User | None, body: bytes, effect: Callable[[], Result], *, device: str | None = None, number: int | None = None
) -> tuple[Result, bool]:
    """Runs the effect and keeps its result, or returns the result that was kept: (result, True when it ran now).

    Raises Conflict when the id was used for another body or by another person. An effect that raises leaves no receipt.
    """
    digest = body_hash(body)
    if (known := _known(op_uid, user, digest)) is not None:
        return known, False
    try:
        with transaction.atomic():
            # The receipt first: on PostgreSQL a second sender waits here until the first has committed.
            receipt = Receipt.objects.create(
                op_uid=op_uid, user=user, device=device, number=_free(device, number), body_sha=digest, result={}, at=clock.now()
            )
            receipt.result = effect()
            receipt.save(update_fields=["result"])
            return receipt.result, True
    except IntegrityError:
        if (known := _known(op_uid, user, digest)) is None:
            raise
        return known, False


def _free(device: str | None, number: int | None) -> int | None:
    """The phone's number, or None when it was used before: a phone that counts wrongly must not lose an entry."""
    if device is None or number is None or Receipt.objects.filter(device=device, number=number).exists():
        return None
    return number


def _known(op_uid: uuid.UUID, user: User | None, digest: str) -> Result | None:
    receipt = Receipt.objects.filter(op_uid=op_uid).first()
    if receipt is None:
        return None
    if receipt.body_sha != digest or receipt.user_id != (user.pk if user else None):
        raise Conflict(f"{op_uid} was used before for something else.")
    return dict(receipt.result)
