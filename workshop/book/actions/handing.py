"""The vehicle is handed over, with a paper that says what was said."""

import uuid as uuids

from django.db import transaction

from workshop import clock
from workshop.book import pdf
from workshop.book.models import HandOver
from workshop.book.queries import hand_over as sheets
from workshop.files.actions import store
from workshop.history.actions import Actor, record
from workshop.jobs.actions import Refused, refuse_held, refuse_not_ready
from workshop.jobs.models import Card
from workshop.pages.boxes import LOST

MEDIA_TYPE = "application/pdf"


def hand_over(actor: Actor, card: Card, given_to: str, *, keys_back: bool, words: str = "", uid: uuids.UUID | None = None) -> HandOver:
    """The vehicle and its sheet go to somebody; the paper is kept as it was. The same uid gives the hand-over that is there.

    The paper is drawn before the transaction, so that nobody waits for it; when a fact changed meanwhile it is refused. Refused too
    for a card that is not ready, or no longer, without a name, and while something stops the vehicle from leaving.
    """
    if uid and (there := _made_before(uid, card)):
        return there
    _refuse(card, given_to)
    now = sheets.card(card.pk)
    assert now is not None
    said = sheets.sheet(now)
    given = pdf.Given(given_to.strip(), keys_back, words.strip(), actor.name, clock.now())
    return _keep(actor, card, given, paper=pdf.render(said, given), said=sheets.fingerprint(said), uid=uid or uuids.uuid4())


@transaction.atomic
def _keep(actor: Actor, card: Card, given: pdf.Given, *, paper: bytes, said: str, uid: uuids.UUID) -> HandOver:
    locked = Card.objects.select_for_update().get(pk=card.pk)
    if there := _made_before(uid, locked):
        return there
    _refuse(locked, given.to)
    now = sheets.card(card.pk)
    if now is None or sheets.fingerprint(sheets.sheet(now)) != said:
        raise Refused("Something on the card was changed this moment. Look at the sheet again, then hand over.")
    made = HandOver.objects.create(
        uid=uid, card=locked, given_to=given.to, keys_back=given.keys_back, words=given.words,
        paper=store(paper, MEDIA_TYPE), by=given.by, at=given.at,
    )  # fmt: skip
    told = {"given_to": given.to, "keys": ", with the keys" if given.keys_back else "", "words": given.words, "paper": made.paper_id}
    record("book.handed_over", actor, card_id=locked.pk, vehicle_id=locked.vehicle_id, payload=told)
    return made


def _made_before(uid: uuids.UUID, card: Card) -> HandOver | None:
    """The hand-over that this page made. Refused when its number was used on another card."""
    there = HandOver.objects.filter(uid=uid).first()
    if there and there.card_id != card.pk:
        raise Refused(LOST)
    return there


def _refuse(card: Card, given_to: str) -> None:
    if card.state == Card.State.OPEN:
        raise Refused("The vehicle is not ready yet. Say on the card that it is, then hand it over.")
    if not given_to.strip():
        raise Refused("Nobody named. Write who took the vehicle.")
    (refuse_not_ready if card.state == Card.State.READY else refuse_held)(card, "It may not leave.")
