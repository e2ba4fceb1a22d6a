"""Read the books."""

from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID

from django.db.models import QuerySet, Sum

from workshop.calc.money import ZERO
from workshop.ledger.models import Book, Close, Entry, Posting


def entries(from_on: date, to_on: date) -> QuerySet[Entry]:
    """Entries dated in the span, both days counted, with their postings; in the order in which they were written."""
    return Entry.objects.filter(dated_on__range=(from_on, to_on)).order_by("pk").prefetch_related("postings")


def of_source(source_uid: UUID) -> QuerySet[Entry]:
    """The entries that a document or a payment wrote."""
    return Entry.objects.filter(source_uid=source_uid).order_by("pk").prefetch_related("postings")


def balance(role: str, party_uid: UUID | None = None, *, through_on: date | None = None) -> Decimal:
    """Debit less credit on a role, of one party or of all, up to a day or up to now."""
    postings = Posting.objects.filter(role=role)
    if party_uid is not None:
        postings = postings.filter(party_uid=party_uid)
    if through_on is not None:
        postings = postings.filter(entry__dated_on__lte=through_on)
    found: Decimal | None = postings.aggregate(total=Sum("amount"))["total"]
    return found if found is not None else ZERO


def closed_through() -> date | None:
    """The close date: nothing is dated on or before it any more."""
    return Book.objects.values_list("closed_through_on", flat=True).filter(pk=1).first()


def first_open_day(wanted: date) -> date:
    """The day itself, or the first that is open after it: where a paper goes that comes late."""
    closed = closed_through()
    return wanted if closed is None or wanted > closed else closed + timedelta(days=1)


def closes() -> QuerySet[Close]:
    """Every close, the latest day first, taken back or not."""
    return Close.objects.order_by("-through_on", "-pk")


def problems() -> Iterator[str]:
    """Every entry that does not balance, has no postings, or slipped into a closed span, as a sentence."""
    for unequal in Entry.objects.annotate(total=Sum("postings__amount")).exclude(total=0).order_by("pk"):
        yield f"Entry {unequal.reference} of {unequal.dated_on} sums to {unequal.total}, not to 0.00."
    for entry in Entry.objects.filter(postings__isnull=True).order_by("pk"):
        yield f"Entry {entry.reference} of {entry.dated_on} has no postings."
    for close in Close.objects.filter(reopened=False).order_by("pk"):
        for entry in Entry.objects.filter(dated_on__lte=close.through_on, entered_at__gt=close.at).order_by("pk"):
            yield f"Entry {entry.reference} is dated {entry.dated_on}, but the books were closed through {close.through_on} before it."
