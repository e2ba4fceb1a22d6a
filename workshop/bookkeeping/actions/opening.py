"""Enter what was brought over from the books before, as one balanced entry; take it back by its opposite."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID, uuid4

from django.db import transaction

from workshop import clock
from workshop.bookkeeping import queries
from workshop.bookkeeping.models import BroughtOver
from workshop.calc.money import ZERO
from workshop.customers.models import Party
from workshop.history.actions import Actor, record
from workshop.ledger import queries as ledger
from workshop.ledger.actions import PostingIn, Refused, WrongDay, lock_books, write_entry
from workshop.ledger.models import Entry


@dataclass(frozen=True)
class Owed:
    """An invoice of another book that is unpaid on the day."""

    party: Party
    number: str
    amount: Decimal
    due_on: date | None = None


@transaction.atomic
def write_opening(
    actor: Actor, *, as_of: date, held: Mapping[str, Decimal], tax: Mapping[str, Decimal], owed: Sequence[Owed], request_uid: UUID
) -> Entry:
    """One entry of the day: what is held by role (bank, cash), output tax owed by code, invoices that customers owe; equity balances it.

    The same request again returns the entry it made. Raises Refused when opening balances stand, WrongDay when an entry lies on or before
    the day, the day has not come, or is closed."""
    lock_books()
    if (made := ledger.of_source(request_uid).filter(source_kind="opening").first()) is not None:
        return made
    _require_place(as_of)
    about = [PostingIn("receivable_before", row.amount, customer_kind=row.party.kind, party_uid=row.party.uid) for row in owed]
    postings = [PostingIn(role, amount) for role, amount in held.items()] + about
    postings += [PostingIn("output_tax", -amount, tax_code=code) for code, amount in tax.items()]
    entry = write_entry(
        source_kind="opening",
        source_uid=request_uid,
        reference=f"Opening {as_of}",
        dated_on=as_of,
        tax_point_on=as_of,
        words="Opening balances",
        postings=[*postings, PostingIn("opening_equity", -sum((posting.amount for posting in postings), ZERO))],
    )
    BroughtOver.objects.bulk_create(
        BroughtOver(entry=entry, party=row.party, number=row.number, due_on=row.due_on, amount=row.amount) for row in owed
    )
    debit = sum((posting.amount for posting in entry.postings.all() if posting.amount > 0), ZERO)
    record("bookkeeping.opened", actor, payload={"as_of": as_of, "debit": debit, "invoices": len(owed), "entry": entry.uid})
    return entry


def _require_place(as_of: date) -> None:
    if (stands := queries.opening()) is not None:
        raise Refused(f"The opening balances of {stands.entry.dated_on} stand. Take them back first, then enter them anew.")
    if as_of > clock.today():
        raise WrongDay(f"{as_of} has not come. Write the day whose evening the balances are from.")
    first = queries.first_entry()
    if first is not None and first.dated_on <= as_of:
        raise WrongDay(f"{first.reference} is dated {first.dated_on}: it would count twice. Write a day before that.")


@transaction.atomic
def take_back_opening(actor: Actor, entry_uid: UUID, reason: str) -> Entry:
    """The opposite entry of the same day. Raises Refused for other opening balances than those that stand, or without a reason,
    WrongDay when the day is closed."""
    lock_books()
    stands = queries.opening()
    if stands is None or stands.entry.uid != entry_uid:
        raise Refused("These opening balances do not stand any more. Load the sheet again and look.")
    if not reason.strip():
        raise Refused("Taking balances back needs a reason, which stays on file.")
    entry = stands.entry
    names = ("role", "line_kind", "tax_code", "customer_kind", "party_uid")
    postings = [
        PostingIn(amount=-posting.amount, **{name: getattr(posting, name) for name in names})
        for posting in entry.postings.order_by("position")
    ]
    back = write_entry(
        source_kind="opening",
        source_uid=uuid4(),
        reference=entry.reference,
        dated_on=entry.dated_on,
        tax_point_on=entry.tax_point_on,
        words="Opening balances taken back",
        postings=postings,
        reverses=entry,
    )
    record("bookkeeping.opening_taken_back", actor, payload={"as_of": entry.dated_on, "reason": reason[:200], "entry": entry.uid})
    return back
