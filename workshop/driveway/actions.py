"""What a phone sends, done exactly once. Each kind of operation names the verb of the room below that does it."""

import json
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.dateparse import parse_datetime

from workshop.history.actions import Actor
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, Note
from workshop.outbox import actions as outbox
from workshop.outbox.queries import receipt_of
from workshop.staff.models import User

EVENTS: dict[str, str] = {}
MOST_WORDS = 10_000
LATE = {Card.State.CLOSED, Card.State.CANCELLED}
Result = dict[str, Any]


class Refused(Exception):
    """An operation that cannot be done. The phone keeps it and shows the sentence."""

    def __init__(self, status: int, sentence: str) -> None:
        super().__init__(sentence)
        self.status, self.sentence = status, sentence


@dataclass(frozen=True)
class Operation:
    """One thing done at the driveway, as the phone wrote it down."""

    uid: uuid.UUID
    user: User
    kind: str
    card: int | str  # the office's number of the row, or the id that a phone gave a card
    data: dict[str, Any]
    at: datetime  # by the phone's clock
    device: str | None
    number: int | None


def take_operation(user: User, uid: uuid.UUID, body: bytes) -> tuple[Result, bool]:
    """Does what the body says and returns (receipt, True when it was done now). A repeat gets the receipt that was kept.

    Raises Refused with the status to answer; then nothing was written.
    """
    operation = read(user, uid, body)
    try:
        _, fresh = outbox.once(uid, user, body, lambda: KINDS[operation.kind](operation), device=operation.device, number=operation.number)
    except outbox.Conflict:
        raise Refused(409, "This entry's id was used before for something else.") from None
    except jobs.Refused as refused:
        raise Refused(422, str(refused)) from None
    kept = receipt_of(uid)
    assert kept is not None, "once() left no receipt"
    return {"id": str(uid), "body_sha": kept.body_sha, "result": kept.result, "at": kept.at.isoformat()}, fresh


def read(user: User, uid: uuid.UUID, body: bytes) -> Operation:
    """The operation in a body. Raises Refused(400) with a sentence that says what is wrong with it."""
    try:
        said = json.loads(body)
    except ValueError:
        raise Refused(400, "The entry is not JSON.") from None
    if not isinstance(said, dict) or not isinstance(said.get("data"), dict):
        raise Refused(400, "The entry has no data.")
    kind, device, number = said.get("kind"), said.get("device"), said.get("number")
    if not isinstance(kind, str) or kind not in KINDS:
        raise Refused(400, f"The office does not know the kind of entry {kind!r}.")
    return Operation(
        uid=uid,
        user=user,
        kind=kind,
        card=_card_key(said.get("card")),
        data=said["data"],
        at=_moment(said.get("at")),
        device=device[:40] if isinstance(device, str) and device else None,
        number=number if isinstance(number, int) and 0 < number < 2**53 else None,
    )


def _card_key(said: object) -> int | str:
    if isinstance(said, int) and not isinstance(said, bool) and 0 < said < 2**63:
        return said
    try:
        return str(uuid.UUID(said if isinstance(said, str) else ""))
    except ValueError:
        raise Refused(400, "The entry names no card.") from None


def _moment(said: object) -> datetime:
    try:
        moment = parse_datetime(said) if isinstance(said, str) else None
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise Refused(400, "The entry does not say when it was written, with its time zone.")
    return moment


def _locked_card(key: int | str) -> Card:
    wanted = {"pk": key} if isinstance(key, int) else {"uid": key}
    card = Card.objects.select_for_update().filter(**wanted).first()
    if card is None:
        raise Refused(404, "The office has no such card.")
    return card


def _note(operation: Operation) -> Result:
    """A remark. One that came before by the plain form under the same id is the same remark."""
    words = operation.data.get("words")
    if not isinstance(words, str) or not words.strip() or len(words) > MOST_WORDS:
        raise Refused(400, f"A note is 1 to {MOST_WORDS:,} characters.")
    card = _locked_card(operation.card)
    kept = Note.objects.filter(uid=operation.uid).first()
    if kept and (kept.card_id, kept.words) != (card.pk, words.strip()):
        raise outbox.Conflict
    jobs.add_note(Actor.of(operation.user), card, words, uid=operation.uid, written_at=operation.at)
    return {"note": str(operation.uid), "card": card.pk, "late": card.state in LATE}


KINDS: dict[str, Callable[[Operation], Result]] = {"note": _note}
