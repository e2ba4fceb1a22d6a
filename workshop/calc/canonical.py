"""Canonical JSON: the same value always gives the same bytes, so that a hash of it means something."""

import hashlib
import json
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID


def dumps(value: Any) -> str:
    """JSON with sorted keys and no spaces; Decimal as text with its places, dates and moments in ISO 8601. Raises TypeError for a float."""
    return json.dumps(_plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def sha256(text: str) -> str:
    """SHA-256 of the text's UTF-8 bytes, in hex."""
    return hashlib.sha256(text.encode()).hexdigest()


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        raise TypeError("A float has no canonical form: use Decimal.")
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime):
        if value.tzinfo is None:
            raise TypeError("A moment without a zone has no canonical form.")
        return value.isoformat()
    if isinstance(value, date | UUID):
        return str(value)
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value
