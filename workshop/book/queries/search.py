"""Look up what was typed in the index: a few steps, however many cards there are."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from workshop.book.models import SearchWord
from workshop.book.queries import words
from workshop.customers.models import Contact, Party
from workshop.invoices.models import Document
from workshop.jobs.models import Card
from workshop.vehicles.models import Vehicle

SHOWN = {"vehicle": 12, "party": 12, "card": 14, "document": 12}  # 50 in all
MOST_READ = 500  # a beginning that fits more words than this is too short to look further
MOST_WORDS = 6
LAST = "\U0010ffff"  # stands behind every letter
MOST_TYPED = 100

Key = tuple[str, int]


@dataclass(frozen=True)
class Found:
    """What fits, by kind, newest first; `more` when there was more than is shown."""

    vehicles: list[Vehicle] = field(default_factory=list)
    parties: list[Party] = field(default_factory=list)
    cards: list[Card] = field(default_factory=list)
    documents: list[Document] = field(default_factory=list)
    more: bool = False

    @property
    def count(self) -> int:
        """How many are shown."""
        return len(self.vehicles) + len(self.parties) + len(self.cards) + len(self.documents)


def beginning(word: str) -> QuerySet[SearchWord]:
    """The words that begin so: one stretch of the index."""
    return SearchWord.objects.filter(word__gte=word, word__lt=word + LAST)


def find(typed: str) -> Found:
    """What carries all of the typed words, or carries them as one plate or number. At most 50 things.

    The number of queries hangs on how many words were typed, never on how many records there are."""
    runs = list(dict.fromkeys(words.parts(typed[:MOST_TYPED])))[:MOST_WORDS]
    if not runs:
        return Found()
    keys, more = _carrying(runs)
    for whole in _as_one(typed[:MOST_TYPED], runs):
        further, also = _carrying([whole])
        keys, more = keys | further, more or also
    chosen = {kind: sorted((ref for k, ref in keys if k == kind), reverse=True) for kind in SHOWN}
    return Found(
        vehicles=list(_vehicles(chosen["vehicle"][: SHOWN["vehicle"]])),
        parties=list(_parties(chosen["party"][: SHOWN["party"]])),
        cards=list(_cards(chosen["card"][: SHOWN["card"]])),
        documents=list(_documents(chosen["document"][: SHOWN["document"]])),
        more=more or any(len(chosen[kind]) > most for kind, most in SHOWN.items()),
    )


def _as_one(typed: str, runs: list[str]) -> list[str]:
    """The same typed as a plate or number in one piece, and as a telephone number as it is dialled at home, without its leading zero."""
    whole = words.joined(typed)
    dialled = whole.lstrip("0") if whole.isdecimal() else ""
    return [word for word in dict.fromkeys([whole, dialled]) if word and [word] != runs]


def _carrying(runs: list[str]) -> tuple[set[Key], bool]:
    """Things that carry a word for each beginning, and whether every beginning fits too many words to look at them all.

    Reads the stretch of the rarest beginning (the longer are tried first), at most MOST_READ words of it, then asks for the others.
    """
    near: list[tuple[int, str, int]] = []
    for word in sorted(runs, key=len, reverse=True):
        near = list(beginning(word).order_by("word", "kind", "ref").values_list("pk", "kind", "ref")[: MOST_READ + 1])
        if len(near) <= MOST_READ:
            break
    others = [run for run in runs if run != word]
    if not others or not near:
        return {(kind, ref) for _, kind, ref in near[:MOST_READ]}, len(near) > MOST_READ
    rows = SearchWord.objects.filter(pk__in=[pk for pk, _, _ in near[:MOST_READ]])
    for run in others:
        rows = rows.filter(Exists(beginning(run).filter(kind=OuterRef("kind"), ref=OuterRef("ref"))))
    return set(rows.values_list("kind", "ref")), len(near) > MOST_READ


def _vehicles(refs: Iterable[int]) -> QuerySet[Vehicle]:
    return Vehicle.objects.filter(pk__in=refs, merged_into=None).order_by("-pk")


def _parties(refs: Iterable[int]) -> QuerySet[Party]:
    reached = Prefetch("contacts", Contact.objects.order_by("pk"))
    return Party.objects.filter(pk__in=refs, merged_into=None).prefetch_related(reached).order_by("-pk")


def _cards(refs: Iterable[int]) -> QuerySet[Card]:
    return Card.objects.filter(pk__in=refs).select_related("vehicle").order_by("-pk")


def _documents(refs: Iterable[int]) -> QuerySet[Document]:
    return Document.objects.filter(pk__in=refs).select_related("payer").defer("body").order_by("-pk")
