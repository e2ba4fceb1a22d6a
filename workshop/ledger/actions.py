"""Write an entry, close the books, open them again."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import connection, transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.ledger import queries
from workshop.ledger.models import Book, Close, Entry, Posting

EVENTS = {
    "ledger.closed": "closed the books through {through}: {reason}",
    "ledger.reopened": "opened the books again after {through}: {reason}",
}


class Refused(ValueError):
    """The books do not take it; the text is the sentence to show."""


class WrongDay(Refused):
    """The day cannot be; the sentence belongs beside the day."""


class Conflict(Refused):
    """The same request number came before, with other content: what was done first stands, nothing was done now."""


@dataclass(frozen=True)
class PostingIn:
    """A signed amount on a role: debit positive, credit negative."""

    role: str
    amount: Decimal
    line_kind: str = ""
    tax_code: str = ""
    customer_kind: str = ""
    party_uid: UUID | None = None


def lock_books() -> Book:
    """The one row that everybody who posts, closes or exports waits for. Call it inside a transaction, before the history line."""
    if not connection.in_atomic_block:
        raise RuntimeError("The books are locked inside a transaction or not at all.")
    Book.objects.get_or_create(pk=1)
    return Book.objects.select_for_update().get(pk=1)


def write_entry(
    *,
    source_kind: str,
    source_uid: UUID,
    reference: str,
    dated_on: date,
    tax_point_on: date,
    words: str,
    postings: Sequence[PostingIn],
    reverses: Entry | None = None,
    late: bool = False,
) -> Entry:
    """Writes one balanced entry for the verb above and records nothing. Postings of zero are left out.

    Raises Refused when debit is not credit or nothing is posted, WrongDay when the date is on or before the close date;
    a paper that comes `late` takes the first open day instead and keeps its tax point."""
    book = lock_books()
    if late:
        dated_on = queries.first_open_day(dated_on)
    if book.closed_through_on and dated_on <= book.closed_through_on:
        raise WrongDay(
            f"The books are closed through {book.closed_through_on}. {dated_on} is too early: date it later, or open them again."
        )
    kept = [posting for posting in postings if posting.amount]
    if not kept:
        raise Refused(f"{reference} has no amount to post.")
    if difference := sum(posting.amount for posting in kept):
        raise Refused(f"{reference} does not balance: debit less credit is {difference}, it has to be 0.00.")
    entry = Entry.objects.create(
        source_uid=source_uid,
        source_kind=source_kind,
        reference=reference,
        dated_on=dated_on,
        tax_point_on=tax_point_on,
        entered_at=clock.now(),
        words=words[:200],
        reverses=reverses,
    )
    Posting.objects.bulk_create(Posting(entry=entry, position=place, **vars(posting)) for place, posting in enumerate(kept, start=1))
    return entry


@transaction.atomic
def close_books(actor: Actor, through_on: date, reason: str) -> Close:
    """From now on nothing is dated on or before this day. Raises Refused for a day that has not ended, or is closed already."""
    book = lock_books()
    if through_on >= clock.today():
        raise Refused(f"{through_on} has not ended. Close through a day that has passed.")
    if book.closed_through_on and through_on <= book.closed_through_on:
        raise Refused(f"The books are closed through {book.closed_through_on} already.")
    close = Close.objects.create(through_on=through_on, at=clock.now(), by=actor.name[:120], reason=reason[:200])
    book.closed_through_on = through_on
    book.save(update_fields=["closed_through_on"])
    record("ledger.closed", actor, payload={"through": through_on, "reason": reason})
    return close


@transaction.atomic
def reopen_books(actor: Actor, reason: str, *, through_on: date | None = None) -> Close:
    """Takes the last close back. Raises Refused when nothing is closed or no reason is given, and, for who looked at a sheet that
    said `through_on`, when that is not the last close any more: a second tap never takes back a second close."""
    book = lock_books()
    close = Close.objects.filter(reopened=False).order_by("-through_on").first()
    if close is None:
        raise Refused("The books are open. There is nothing to open again.")
    if through_on is not None and through_on != close.through_on:
        raise Refused(f"The books are closed through {close.through_on}, not {through_on}, by now. Nothing was done. Look at the list.")
    if not reason.strip():
        raise Refused("Opening the books again needs a reason, which stays on file.")
    close.reopened, close.reopened_at = True, clock.now()
    close.reopened_by, close.reopened_reason = actor.name[:120], reason[:200]
    close.save(update_fields=["reopened", "reopened_at", "reopened_by", "reopened_reason"])
    before = Close.objects.filter(reopened=False).order_by("-through_on").first()
    book.closed_through_on = before.through_on if before else None
    book.save(update_fields=["closed_through_on"])
    record("ledger.reopened", actor, payload={"through": book.closed_through_on or "the beginning", "reason": reason})
    return close
