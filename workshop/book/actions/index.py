"""Keep the index of the search box. It is no business record: it is made from the other rooms and can be made again at any time.

No room tells the index anything. Each line of history names its card, vehicle or customer, so the index reads on from the line it
has seen last and writes those things anew. That happens when somebody searches, and when it cannot (somebody else writes, the
records may only be read) the search goes on with the index as it is.
"""

import json
import uuid as uuids
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field

from django.db import InternalError, OperationalError, connection, transaction

from workshop.book.models import Mark, SearchWord
from workshop.book.queries import words
from workshop.customers.models import Contact, Party
from workshop.history.models import Event, Head
from workshop.invoices.models import Document
from workshop.jobs.models import Card, Role
from workshop.vehicles.models import Vehicle

AT_ONCE = 1000  # lines of history that one search catches up with
PATIENCE_MS = 250
Kind = SearchWord.Kind


@dataclass
class Touched:
    """What lines of history are about."""

    cards: set[int] = field(default_factory=set)
    vehicles: set[int] = field(default_factory=set)
    parties: set[str] = field(default_factory=set)  # by uid


def catch_up(most: int = AT_ONCE) -> bool:
    """Brings the index up to the end of history, or a good step nearer. True when it is there; False when it could not be, or not yet.

    Writes the index and nothing else, also on a GET: it is upkeep of what can be made again, like a cache.
    """
    try:
        if _behind() == 0:
            return True
        with _impatient(), transaction.atomic():
            return _step(most)
    except (OperationalError, InternalError):
        return False


def _behind() -> int:
    head = Head.objects.order_by("pk").values_list("seq", flat=True).first() or 0
    seen = Mark.objects.order_by("pk").values_list("seq", flat=True).first() or 0
    return head - seen


@contextmanager
def _impatient() -> Iterator[None]:
    """SQLite waits twenty seconds for another writer; a search does not."""
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        yield
        return
    patience = int(connection.settings_dict["OPTIONS"].get("timeout", 5) * 1000)
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA busy_timeout = {PATIENCE_MS}")
        try:
            yield
        finally:
            cursor.execute(f"PRAGMA busy_timeout = {patience}")


def _step(most: int) -> bool:
    Mark.objects.get_or_create(pk=1)
    mark = Mark.objects.select_for_update(skip_locked=connection.features.has_select_for_update_skip_locked).filter(pk=1).first()
    if mark is None:
        return False
    events = list(Event.objects.filter(seq__gt=mark.seq).order_by("seq")[: most + 1])
    _write_touched(_touched(events[:most]))
    if events:
        mark.seq = events[:most][-1].seq
        mark.save(update_fields=["seq"])
    return len(events) <= most


def _touched(events: Iterable[Event]) -> Touched:
    found = Touched()
    for event in events:
        told = json.loads(event.payload or "{}")
        found.cards.update(pk for pk in (event.card_id,) if pk)
        found.vehicles.update(pk for pk in (event.vehicle_id, told.get("dropped_vehicle")) if isinstance(pk, int))
        found.parties.update(
            uid for uid in (told.get("party"), told.get("dropped_party"), *(told.get("taken_parties") or ())) if _is_uid(uid)
        )
        found.vehicles.update(pk for pk in told.get("taken_vehicles") or () if isinstance(pk, int))
    return found


def _is_uid(told: object) -> bool:
    """Whether a payload names a customer by uid; other rooms may mean another thing by the same key."""
    try:
        return bool(uuids.UUID(str(told)))
    except ValueError:
        return False


def _write_touched(found: Touched) -> None:
    parties = set(Party.objects.filter(uid__in=found.parties).values_list("pk", flat=True))
    parties.update(Role.objects.filter(card__in=found.cards).values_list("party", flat=True))
    _write(Kind.CARD, found.cards, _words_of_cards(found.cards))
    _write(Kind.VEHICLE, found.vehicles, _words_of_vehicles(found.vehicles))
    _write(Kind.PARTY, parties, _words_of_parties(parties))
    documents = list(Document.objects.filter(card__in=found.cards).values_list("pk", flat=True))
    _write(Kind.DOCUMENT, documents, _words_of_documents(documents))


def _write(kind: str, refs: Iterable[int], wanted: dict[int, set[str]]) -> None:
    """Puts in what is missing and takes out what is no longer true; what is right is not touched."""
    there: dict[int, dict[str, int]] = {ref: {} for ref in refs}
    for pk, ref, word in SearchWord.objects.filter(kind=kind, ref__in=list(there)).values_list("pk", "ref", "word"):
        there[ref][word] = pk
    stale = [pk for ref, held in there.items() for word, pk in held.items() if word not in wanted.get(ref, ())]
    new = [SearchWord(kind=kind, ref=ref, word=word) for ref, all_words in wanted.items() for word in sorted(all_words - there[ref].keys())]
    if stale:
        SearchWord.objects.filter(pk__in=stale).delete()
    SearchWord.objects.bulk_create(new, batch_size=500, ignore_conflicts=True)


def _words_of_cards(refs: Iterable[int]) -> dict[int, set[str]]:
    return {
        pk: words.of_number(number)
        for pk, number in Card.objects.filter(pk__in=refs).exclude(number=None).values_list("pk", "number")
        if number
    }


def _words_of_documents(refs: Iterable[int]) -> dict[int, set[str]]:
    return {pk: words.of_number(number) for pk, number in Document.objects.filter(pk__in=refs).values_list("pk", "number")}


def _words_of_vehicles(refs: Iterable[int]) -> dict[int, set[str]]:
    """Plate and number from any place on to their end, make and model. One that was merged away lends its words to the one it went into."""
    found: dict[int, set[str]] = {}
    rows = Vehicle.objects.filter(pk__in=refs) | Vehicle.objects.filter(merged_into__in=refs)
    for vehicle in rows:
        own = words.endings(words.joined(vehicle.plate), 2) | words.endings(words.joined(vehicle.vin), 4)
        own.update(words.parts(f"{vehicle.plate} {vehicle.make} {vehicle.model}"))
        found.setdefault(vehicle.merged_into_id or vehicle.pk, set()).update(own)
    return {ref: own for ref, own in found.items() if ref in set(refs)}


def _words_of_parties(refs: Iterable[int]) -> dict[int, set[str]]:
    """Names of the party and of its people, their telephone numbers from any place on to their end, their mail addresses."""
    found: dict[int, set[str]] = {}
    for party in Party.objects.filter(pk__in=refs) | Party.objects.filter(merged_into__in=refs):
        found.setdefault(party.merged_into_id or party.pk, set()).update(words.parts(party.name))
    for contact in Contact.objects.filter(party__in=refs):
        own = found.setdefault(contact.party_id, set())
        own.update(words.parts(f"{contact.name} {contact.email}"))
        own.update(words.endings(words.digits(contact.phone), 4))
    return {ref: own for ref, own in found.items() if ref in set(refs)}


def rebuild(chunk: int = 500) -> int:
    """Makes the whole index anew from what is there now, in one transaction; returns how many words it has."""
    with transaction.atomic():
        Mark.objects.get_or_create(pk=1)
        mark = Mark.objects.select_for_update().get(pk=1)
        head = Head.objects.order_by("pk").values_list("seq", flat=True).first() or 0
        SearchWord.objects.all().delete()
        for kind, rows, words_of in (
            (Kind.CARD, Card.objects.all(), _words_of_cards),
            (Kind.VEHICLE, Vehicle.objects.filter(merged_into=None), _words_of_vehicles),
            (Kind.PARTY, Party.objects.filter(merged_into=None), _words_of_parties),
            (Kind.DOCUMENT, Document.objects.all(), _words_of_documents),
        ):
            refs = list(rows.order_by("pk").values_list("pk", flat=True))
            for some in _in_chunks(refs, chunk):
                _write(kind, some, words_of(some))
        mark.seq = head
        mark.save(update_fields=["seq"])
        return SearchWord.objects.count()


def _in_chunks(refs: Sequence[int], size: int) -> Iterator[Sequence[int]]:
    for start in range(0, len(refs), size):
        yield refs[start : start + size]
