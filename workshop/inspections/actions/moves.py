"""Put a finding or a photo where it belongs."""

from typing import Any

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.inspections.actions.photos import MOST_ON_ONE
from workshop.inspections.models import Finding, FindingPhoto
from workshop.jobs.actions import Refused, lock_both, reason_of
from workshop.jobs.models import Card


@transaction.atomic
def move_finding(actor: Actor, finding: Finding, to_card: Card, reason: str) -> Finding:
    """A finding that was written on the wrong card goes to the right one. It keeps its first card, the moment and the mover.

    Its links to causes, effects and lines of the old card are cut; history says which. What was sent to a customer stays as it was.
    Refused for the same card and for a cancelled one.
    """
    why = reason_of(reason)
    old, new = lock_both(finding.card, to_card)
    fresh = Finding.objects.select_for_update().get(pk=finding.pk)
    if fresh.card_id != old.pk or old.pk == new.pk:
        raise Refused(f"The finding stands on card {new if old.pk == new.pk else fresh.card_id}. Choose another card.")
    if new.state == Card.State.CANCELLED:
        raise Refused(f"Card {new} is cancelled. Choose another.")
    cut = _cut(fresh)
    fresh.origin_card = fresh.origin_card or old
    fresh.card, fresh.moved_at, fresh.moved_by = new, clock.now(), actor.name
    fresh.save(update_fields=["card", "origin_card", "moved_at", "moved_by"])
    told = {"words": fresh.words, "finding": str(fresh.uid), "from_card": str(old), "to_card": str(new), "reason": why, **cut}
    record("inspections.finding_moved", actor, card_id=old.pk, vehicle_id=old.vehicle_id, payload=told)
    return fresh


def _cut(finding: Finding) -> dict[str, Any]:
    """Takes off the links that make no sense on another card; returns what they were."""
    lines, causes, effects = (
        finding.lines.select_related("line"),
        finding.causes.select_related("cause"),
        finding.effects.select_related("effect"),
    )
    cut = {
        "lines": [link.line.number for link in lines],
        "causes": [str(link.cause.uid) for link in causes],
        "effects": [str(link.effect.uid) for link in effects],
    }
    finding.lines.all().delete()
    finding.causes.all().delete()
    finding.effects.all().delete()
    return {name: what for name, what in cut.items() if what}


@transaction.atomic
def move_photo(actor: Actor, shown: FindingPhoto, to_finding: Finding, reason: str) -> FindingPhoto:
    """A photo that hangs on the wrong finding goes to the right one, on this card or another. It keeps its first finding and card, the
    moment and the mover. What was sent to a customer stays as it was.

    Refused for a finding that has the photo already or has no room for it, and for a cancelled card."""
    why = reason_of(reason)
    old, new = lock_both(shown.finding.card, to_finding.card)
    fresh = FindingPhoto.objects.select_for_update(of=("self",)).select_related("finding").get(pk=shown.pk)
    if to_finding.photos.filter(photo=fresh.photo_id).exists():
        raise Refused(f"The photo hangs on “{to_finding.words}” already. Choose another finding.")
    if new.state == Card.State.CANCELLED:
        raise Refused(f"Card {new} is cancelled. Choose a finding on another.")
    if to_finding.photos.count() >= MOST_ON_ONE:
        raise Refused(f"“{to_finding.words}” has {MOST_ON_ONE} photos, the most. Choose another finding.")
    was = fresh.finding
    if fresh.origin_id is None:
        fresh.origin, fresh.origin_card = was, old
    fresh.finding, fresh.moved_at, fresh.moved_by = to_finding, clock.now(), actor.name
    fresh.save(update_fields=["finding", "origin", "origin_card", "moved_at", "moved_by"])
    told = {"words": was.words, "to_words": to_finding.words, "from_card": str(old), "to_card": str(new), "reason": why}
    record("inspections.photo_moved", actor, card_id=old.pk, vehicle_id=old.vehicle_id, payload={**told, "photo": str(fresh.photo.uid)})
    return fresh
