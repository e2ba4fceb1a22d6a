"""What was brought over from the books before."""

from dataclasses import dataclass

from workshop.bookkeeping.models import BroughtOver
from workshop.customers.models import Party
from workshop.ledger.models import Entry, Posting


@dataclass(frozen=True)
class Opening:
    """The entry of the opening balances that stands, its postings without the single invoices, and the unpaid invoices in it."""

    entry: Entry
    postings: tuple[Posting, ...]
    brought_over: tuple[BroughtOver, ...]


def opening() -> Opening | None:
    """The opening balances that stand; None when there are none, or they were taken back."""
    entry = Entry.objects.filter(source_kind="opening", reverses=None, entry=None).first()
    if entry is None:
        return None
    postings = entry.postings.exclude(role="receivable_before").order_by("position")
    return Opening(entry, tuple(postings), tuple(entry.brought_over.select_related("party").order_by("pk")))


def first_entry() -> Entry | None:
    """The earliest entry that is no opening balance."""
    return Entry.objects.exclude(source_kind="opening").order_by("dated_on", "pk").first()


def called(names: set[str]) -> dict[str, list[Party]]:
    """For each name, in small letters, the customers of that name; in one query."""
    found: dict[str, list[Party]] = {name.casefold(): [] for name in names}
    for party in Party.objects.filter(merged_into=None).order_by("pk").iterator(chunk_size=2000):
        if party.name.casefold() in found:
            found[party.name.casefold()].append(party)
    return found
