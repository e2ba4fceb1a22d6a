"""Write a line of history. The only way in."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, cast

from django.db import connection, transaction
from django.http import HttpRequest

from workshop import clock
from workshop.calc import canonical
from workshop.history import registry
from workshop.history.models import Event, Head
from workshop.staff.models import User


@dataclass(frozen=True)
class Actor:
    """Who acts: a person of the business, a holder of a link, or the program itself."""

    kind: str
    ref: str
    name: str

    @classmethod
    def of(cls, user: User) -> "Actor":
        return cls("staff", str(user.pk), str(user))

    @classmethod
    def by_link(cls, link_uid: object, name: str) -> "Actor":
        return cls("link", str(link_uid), name)

    @classmethod
    def system(cls, name: str) -> "Actor":
        return cls("system", name, name)

    def __str__(self) -> str:
        return f"{self.kind}:{self.ref}"


def acting(request: HttpRequest) -> Actor:
    """Who presses the button: the person who is signed in, behind a page that only staff may open."""
    return Actor.of(cast(User, request.user))


def payload_hash(salt: str, payload: str) -> str:
    """SHA-256 over salt and payload. The salt keeps a blanked payload from being guessed out of its hash."""
    return hashlib.sha256(f"{salt}\n{payload}".encode()).hexdigest()


def line_hash(event: Event) -> str:
    """SHA-256 over everything but the payload itself, so that a payload can be blanked and the chain still holds."""
    parts = (event.seq, event.at.isoformat(), event.actor, event.actor_name, event.kind, event.card_id, event.vehicle_id)
    return hashlib.sha256("\n".join([*map(str, parts), event.payload_sha, event.prev]).encode()).hexdigest()


def record(
    kind: str, actor: Actor, *, card_id: int | None = None, vehicle_id: int | None = None, payload: dict[str, Any] | None = None
) -> Event:
    """Appends one line and returns it. Call it last in the verb's transaction: it holds the chain's head until commit.

    Raises RuntimeError outside a transaction, LookupError for a kind that no EVENTS tells.
    """
    if not connection.in_atomic_block:
        raise RuntimeError(f"{kind} is recorded outside a transaction: the line could stay while the deed is rolled back.")
    registry.sentence_of(kind)
    head = Head.objects.select_for_update().get(pk=1)
    text = canonical.dumps(payload or {})
    salt = secrets.token_hex(16)
    event = Event(
        seq=head.seq + 1,
        at=_whole(clock.now()),
        actor=str(actor),
        actor_name=actor.name[:120],
        kind=kind,
        card_id=card_id,
        vehicle_id=vehicle_id,
        payload=text,
        salt=salt,
        payload_sha=payload_hash(salt, text),
        prev=head.hash,
    )
    event.hash = line_hash(event)
    event.save(force_insert=True)
    head.seq, head.hash = event.seq, event.hash
    head.save(update_fields=["seq", "hash"])
    return event


def _whole(moment: datetime) -> datetime:
    """Microseconds are what both databases keep."""
    return moment.astimezone(UTC)


@transaction.atomic
def blank(event: Event, actor: Actor, reason: str) -> Event:
    """Removes what a line says (a person asked to be forgotten) and records that. The chain stays whole."""
    changed = Event.objects.filter(pk=event.pk).exclude(payload="").update(payload="")
    if not changed:
        raise ValueError("This line was blanked before.")
    return record(
        "history.blanked", actor, card_id=event.card_id, vehicle_id=event.vehicle_id, payload={"seq": event.seq, "reason": reason}
    )
