"""A card begins; what is said about it."""

import uuid as uuids
from datetime import datetime
from typing import Any

from django.db import transaction

from workshop import clock
from workshop.company.actions import next_number
from workshop.customers.actions import write_approver, write_contact, write_party
from workshop.customers.models import Contact, Party
from workshop.customers.queries import main_contact
from workshop.history.actions import Actor
from workshop.jobs.actions.common import Refused, locked_open, tell
from workshop.jobs.actions.complaints import write_complaint
from workshop.jobs.models import Card, Note, Role
from workshop.vehicles.actions import write_vehicle
from workshop.vehicles.models import Vehicle

ADVICE = {"do_not": "do not drive", "gently": "drive gently", "safe": "may be driven"}


@transaction.atomic
def take_enquiry(
    actor: Actor,
    *,
    customer: dict[str, Any] | Party,
    vehicle: dict[str, Any] | Vehicle,
    words: str,
    told: dict[str, str] | None = None,
    place: str = "",
    due_at: datetime | None = None,
    moves: str = "",
    caller: dict[str, Any] | Contact | None = None,
    payer: dict[str, Any] | Party | None = None,
    approver: dict[str, Any] | Contact | None = None,
    uid: uuids.UUID | None = None,
) -> Card:
    """A new card with its number, words and who calls, owns, pays and says yes. The same uid gives the card that is there.

    New people and vehicles come as keywords of write_party, write_vehicle, write_contact; an approver may bring `limit_gross`.
    `told` is what was asked about the words, by the names of complaints.TOLD."""
    if uid and (there := Card.objects.filter(uid=uid).first()):
        return there
    owner = write_party(**customer) if isinstance(customer, dict) else customer
    payer = write_party(**payer) if isinstance(payer, dict) else payer or owner
    card = Card.objects.create(
        uid=uid or uuids.uuid4(),
        vehicle=write_vehicle(**vehicle, owner=owner) if isinstance(vehicle, dict) else vehicle,
        place=place.strip(),
        due_at=due_at,
        moves=moves,
        opened_at=clock.now(),
    )
    called = _person(owner, caller)
    write_complaint(card, words, {"noticed_by": str((caller and called) or "")} | (told or {}))
    _stand(card, owner, called, payer, _approver(payer, approver))
    card.number = next_number("card", clock.today())
    card.save(update_fields=["number"])
    tell("jobs.enquiry_taken", actor, card, caller=str(called or owner), words=words.strip()[:200])
    return card


def _person(party: Party, person: dict[str, Any] | Contact | None) -> Contact | None:
    """The contact that is meant: a new one of the party, the one given, or the party's first."""
    if isinstance(person, dict):
        return write_contact(party, **person)
    return person or main_contact(party)


def _approver(payer: Party, person: dict[str, Any] | Contact | None) -> Contact | None:
    if not isinstance(person, dict):
        return person or main_contact(payer)
    limit = person.get("limit_gross")
    contact = write_contact(payer, **{key: value for key, value in person.items() if key != "limit_gross"})
    write_approver(payer, contact, limit)
    return contact


def _stand(card: Card, owner: Party, called: Contact | None, payer: Party, approver: Contact | None) -> None:
    stand = {
        Role.Kind.CALLER: (called.party if called else owner, called),
        Role.Kind.OWNER: (owner, main_contact(owner)),
        Role.Kind.PAYER: (payer, main_contact(payer)),
        Role.Kind.APPROVER: (payer, approver),
    }
    Role.objects.bulk_create(Role(card=card, kind=kind, party=party, contact=contact) for kind, (party, contact) in stand.items())


@transaction.atomic
def add_note(actor: Actor, card: Card, words: str, uid: uuids.UUID | None = None, written_at: datetime | None = None) -> Note:
    """A remark. `written_at` (aware) is the phone's clock when it came from a phone. The same uid gives the note that is there.

    A note is taken on a closed card too: it may have waited on a phone. Refused when empty, or when the uid stands on another card.
    """
    if uid and (there := Note.objects.filter(uid=uid).first()):
        if there.card_id != card.pk:
            raise Refused("This note already stands on another card. Write it again here.")
        return there
    if not words.strip():
        raise Refused("The note is empty. Write what the next reader must know.")
    now = clock.now()
    note = Note.objects.create(
        uid=uid or uuids.uuid4(), card=card, words=words.strip(), by=actor.name, written_at=written_at or now, received_at=now
    )
    tell("jobs.noted", actor, card, words=note.words[:200])
    return note


@transaction.atomic
def set_advice(actor: Actor, card: Card, advice: str, words: str) -> Card:
    """Whether the vehicle may be driven: do_not, gently or safe, and why. Refused without words when it is not safe."""
    now = locked_open(card)
    if advice not in ADVICE:
        raise Refused("Choose one: do not drive, drive gently, may be driven.")
    if advice != "safe" and not words.strip():
        raise Refused("Say why it is not safe, in one sentence the customer understands.")
    now.drive_advice, now.drive_words = advice, words.strip()
    now.save(update_fields=["drive_advice", "drive_words"])
    tell("jobs.advised", actor, now, advice=ADVICE[advice], words=now.drive_words)
    return now
