"""The vehicle is left alone, and somebody comes back to it."""

import uuid as uuids
from collections.abc import Sequence

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor
from workshop.jobs.actions.access import open_keys
from workshop.jobs.actions.common import Refused, locked_open, tell
from workshop.jobs.models import Card, Leaving, LeavingPhoto, Spell
from workshop.pages.boxes import LOST
from workshop.pages.templatetags.pages_format import moment
from workshop.photos.models import Photo

AS_LEFT, CHANGED = "as_left", "changed"
WHEEL_OFF = "a wheel is off"


@transaction.atomic
def leave_vehicle(
    actor: Actor,
    card: Card,
    *,
    state: str,
    supports: str,
    keys: str,
    told: str,
    wheels_on: bool,
    no_start_card: bool,
    photos: Sequence[Photo] = (),
    uid: uuids.UUID | None = None,
) -> Leaving:
    """How the vehicle is left; every clock on the card stops. The same uid gives the leaving that is there.

    Refused when it is left already, for a card that is over, without words in a box, and without the do-not-start card where one must
    hang: a wheel is off, something is open, or it must not be driven."""
    now = locked_open(card)
    if uid and (there := Leaving.objects.filter(uid=uid).first()):
        if there.card_id != now.pk:
            raise Refused(LOST)
        return there
    if left := now.leavings.filter(back_at=None).first():
        raise Refused(f"The vehicle was left on {moment(left.left_at)} already, by {left.left_by}. Coming back starts with a look at it.")
    said = {name: text.strip() for name, text in {"state": state, "supports": supports, "keys": keys, "told": told}.items()}
    if not all(said.values()):
        raise Refused("Say in what state it is left, on what it stands, where the keys are and who was told.")
    if not no_start_card and (because := must_not_start(now, wheels_on)):
        raise Refused(f"Hang the do-not-start card on the wheel and tick it: {because}.")
    if not wheels_on:
        said["supports"] = f"{WHEEL_OFF}; {said['supports']}"[:200]
    leaving = Leaving.objects.create(
        uid=uid or uuids.uuid4(), card=now, **said, no_start_card=no_start_card, left_at=clock.now(), left_by=actor.name[:120]
    )
    LeavingPhoto.objects.bulk_create(LeavingPhoto(leaving=leaving, photo=photo) for photo in photos)
    Spell.objects.filter(line__card=now, stopped_at=None).update(stopped_at=leaving.left_at)
    tell("jobs.left", actor, now, **{**said, "no_start": " Do-not-start card hung." if no_start_card else ""})
    return leaving


def must_not_start(card: Card, wheels_on: bool = True) -> str:
    """Why nobody may start the engine while it is left; empty when one may."""
    if not wheels_on:
        return WHEEL_OFF
    if open_keys(card):
        return "something is open"
    return "it must not be driven" if card.drive_advice == "do_not" else ""


@transaction.atomic
def come_back(actor: Actor, leaving: Leaving, *, found: str, words: str = "", photos: Sequence[Photo] = ()) -> Leaving:
    """Somebody looked at the vehicle again: as_left or changed, and what was seen. A second tap changes nothing.

    Refused for another word, and for a change without words."""
    card = locked_open(leaving.card)
    fresh = Leaving.objects.select_for_update().get(pk=leaving.pk)
    if fresh.back_at:
        return fresh
    if found not in {AS_LEFT, CHANGED}:
        raise Refused("Walk round it, then choose one: as it was left, or changed.")
    if found == CHANGED and not words.strip():
        raise Refused("Changed how? Write what you see.")
    seen = ": ".join(filter(None, ["as it was left" if found == AS_LEFT else "changed", words.strip()]))
    fresh.back_at, fresh.back_by, fresh.look = clock.now(), actor.name[:120], seen[:300]
    fresh.save(update_fields=["back_at", "back_by", "look"])
    LeavingPhoto.objects.bulk_create(LeavingPhoto(leaving=fresh, photo=photo, on_return=True) for photo in photos)
    tell("jobs.came_back", actor, card, look=fresh.look)
    return fresh
