"""The one clock of the product. Everything that asks for the time asks here, so that a test or the demo can hold it still."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime

from django.utils import timezone

_held: ContextVar[datetime | None] = ContextVar("held", default=None)


def now() -> datetime:
    """The moment, aware, in UTC."""
    return _held.get() or timezone.now()


def today() -> date:
    """The date where the business is (settings.TIME_ZONE)."""
    return timezone.localdate(now())


@contextmanager
def frozen(moment: datetime) -> Iterator[None]:
    """Holds the clock at an aware moment for what runs inside."""
    if moment.tzinfo is None:
        raise ValueError("The clock is held at an aware moment, this one has no zone.")
    token = _held.set(moment)
    try:
        yield
    finally:
        _held.reset(token)
