"""Read receipts."""

import uuid

from workshop.outbox.models import Receipt


def receipt_of(op_uid: uuid.UUID) -> Receipt | None:
    """The receipt of an operation, None when it never counted."""
    return Receipt.objects.filter(op_uid=op_uid).first()


def missing_numbers(device: str) -> list[int]:
    """Numbers below the highest one that a phone used and that never arrived here, in order."""
    numbers = Receipt.objects.filter(device=device).values_list("number", flat=True)
    seen = {number for number in numbers if number is not None}
    return [number for number in range(1, max(seen, default=0)) if number not in seen]
