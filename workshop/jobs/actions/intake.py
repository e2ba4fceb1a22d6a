"""A card begins; what is said about it."""

import uuid as uuids
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction

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
# What stops a vehicle until it was looked at: trade judgement, from memory, no published source.
STOP_SIGNS = {"oil": "oil pressure", "brakes": "brakes", "fuel_leak": "fuel leak", "runaway": "engine runs away"}


@dataclass(frozen=True)
class Asked:
    """What is asked beside the complaint. `limit_gross` is what may be spent without asking, with tax; `stop_signs` are names of
    STOP_SIGNS; `recalls_on` is the day on which recalls were looked up in `recalls_source`."""

    aim: str = ""
    used_for: str = ""
    limit_gross: Decimal | None = None
    stop_signs: Sequence[str] = ()
    recalls_on: date | None = None
    recalls_source: str = ""

    def columns(self) -> dict[str, Any]:
        """As the card keeps it. A stop sign says: do not drive. Refused for a sign there is not, and for recalls without a source."""
        if strange := set(self.stop_signs) - STOP_SIGNS.keys():
            raise Refused(f"{sorted(strange)[0]} is no stop sign. Choose from the list.")
        if self.recalls_on and not self.recalls_source.strip():
            raise Refused("Recalls were looked up where? Name the source.")
        signs = [name for name in STOP_SIGNS if name in self.stop_signs]
        told = f"Told by the caller: {', '.join(STOP_SIGNS[name] for name in signs)}. It stands until it was looked at."
        advice = {"drive_advice": "do_not", "drive_words": told} if signs else {}
        return {**vars(self), "aim": self.aim.strip(), "used_for": self.used_for.strip(), "stop_signs": ",".join(signs), **advice}


NOTHING_ASKED = Asked()


@transaction.atomic
def take_enquiry(
    actor: Actor,
    *,
    customer: dict[str, Any] | Party,
    vehicle: dict[str, Any] | Vehicle,
    words: str,
    told: dict[str, str] | None = None,
    asked: Asked = NOTHING_ASKED,
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
    `told` is what was asked about them, by the names of complaints.TOLD. A stop sign in `asked` says: do not drive."""
    if uid and (there := Card.objects.filter(uid=uid).first()):
        return there
    what: dict[str, Any] = {"customer": customer, "vehicle": vehicle, "words": words, "told": told, "asked": asked, "place": place}
    what |= {"due_at": due_at, "moves": moves, "caller": caller, "payer": payer, "approver": approver}
    try:
        with transaction.atomic():
            return _write_enquiry(actor, uid or uuids.uuid4(), **what)
    except IntegrityError:  # the same page came twice at the same instant: the first card counts
        if uid and (there := Card.objects.filter(uid=uid).first()):
            return there
        raise


def _write_enquiry(
    actor: Actor,
    uid: uuids.UUID,
    *,
    customer: dict[str, Any] | Party,
    vehicle: dict[str, Any] | Vehicle,
    words: str,
    told: dict[str, str] | None,
    asked: Asked,
    place: str,
    due_at: datetime | None,
    moves: str,
    caller: dict[str, Any] | Contact | None,
    payer: dict[str, Any] | Party | None,
    approver: dict[str, Any] | Contact | None,
) -> Card:
    owner = write_party(**customer) if isinstance(customer, dict) else customer
    payer = write_party(**payer) if isinstance(payer, dict) else payer or owner
    card = Card.objects.create(
        uid=uid,
        vehicle=write_vehicle(**vehicle, owner=owner) if isinstance(vehicle, dict) else vehicle,
        place=place.strip(),
        due_at=due_at,
        moves=moves,
        **asked.columns(),
        opened_at=clock.now(),
    )
    called = _person(owner, caller)
    write_complaint(card, words, {"noticed_by": str((caller and called) or "")} | (told or {}))
    _stand(card, owner, called, payer, _approver(payer, approver))
    card.number = next_number("card", clock.today())
    card.save(update_fields=["number"])
    tell("jobs.enquiry_taken", actor, card, caller=str(called or owner), words=f"{words.strip()[:200]}{_stop(card)}")
    return card


def _stop(card: Card) -> str:
    return f" Do not drive. {card.drive_words}" if card.stop_signs else ""


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
