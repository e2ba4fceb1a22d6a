"""Photos of a finding: added later, named for a comparison, marked with a ring."""

import hashlib
from collections.abc import Sequence

from django.db import transaction

from workshop.calc.clips import Clip
from workshop.history.actions import Actor
from workshop.inspections.models import THOUSAND, Finding, FindingClip, FindingPhoto
from workshop.jobs.actions import Refused
from workshop.jobs.actions.common import locked_open, tell
from workshop.photos.actions import write_clip
from workshop.photos.models import Photo

MOST_ON_ONE, MOST_CLIPS = 24, 6  # photos and clips of one finding


@transaction.atomic
def add_photos(actor: Actor, finding: Finding, photos: Sequence[Photo], role: str = "") -> list[FindingPhoto]:
    """More photos of a finding. One that hangs there already is left as it is; when all do, nothing is recorded.

    Refused: no photo, more than fit, a card that is over, a finding that was moved meanwhile."""
    card = locked_open(finding.card)
    if not Finding.objects.filter(pk=finding.pk, card=card).exists():
        raise Refused("The finding was moved to another card meanwhile. Load the page again.")
    if not photos:
        raise Refused("No photo came. Take one, or choose it from the gallery.")
    there = set(finding.photos.values_list("photo_id", flat=True))
    fresh = [FindingPhoto(finding=finding, photo=photo, role=FindingPhoto.Role(role) if role else "") for photo in photos]
    fresh = [shown for shown in fresh if shown.photo_id not in there]
    if len(there) + len(fresh) > MOST_ON_ONE:
        raise Refused(f"{len(there) + len(fresh)} photos. A finding has at most {MOST_ON_ONE}: put the rest on a finding of its own.")
    if not fresh:
        return []
    made = FindingPhoto.objects.bulk_create(fresh)
    named = f", {made[0].get_role_display()}" if role else ""
    count = f"{len(made)} photo{'s' if len(made) > 1 else ''}"
    tell("inspections.photos_added", actor, card, words=finding.words, count=count, role=named)
    return made


@transaction.atomic
def add_clip(actor: Actor, finding: Finding, clip: Clip) -> FindingClip:
    """A film or sound of a finding, as photos.actions.read_clip gives it; one that is there already is given back and not recorded again.

    Refused, and nothing stored: a card that is over, a finding that was moved meanwhile, more than fit."""
    card = locked_open(finding.card)
    if not Finding.objects.filter(pk=finding.pk, card=card).exists():
        raise Refused("The finding was moved to another card meanwhile. Load the page again.")
    sha256 = hashlib.sha256(clip.data).hexdigest()
    if there := finding.clips.filter(clip__blob=sha256, clip__media_type=clip.media_type).first():
        return there
    if finding.clips.count() >= MOST_CLIPS:
        raise Refused(f"{MOST_CLIPS} clips are on this finding. Put the next on a finding of its own.")
    made = FindingClip.objects.create(finding=finding, clip=write_clip(clip), by=actor.name)
    tell("inspections.clip_added", actor, card, words=finding.words, seconds=str(clip.seconds), sha256=sha256)
    return made


@transaction.atomic
def mark_photo(actor: Actor, shown: FindingPhoto, mark: tuple[int, int] | None) -> FindingPhoto:
    """A ring on the photo, thousandths from the left and from the top; None takes it off. What is so already is not recorded again.

    Refused for a place beside the photo and for a card that is over."""
    now = _locked_photo(shown)
    if mark is not None and not all(0 <= value <= THOUSAND for value in mark):
        raise Refused("That is beside the photo. Tap the place on it.")
    if now.mark == mark:
        return now
    now.mark_x, now.mark_y = mark or (None, None)
    now.save(update_fields=["mark_x", "mark_y"])
    what = f"drew a ring {now.where} on" if mark else "took the ring off"
    tell("inspections.photo_marked", actor, now.finding.card, what=what, words=now.finding.words, photo=str(now.photo.uid))
    return now


@transaction.atomic
def name_photo(actor: Actor, shown: FindingPhoto, role: str) -> FindingPhoto:
    """What the photo stands for in a comparison; empty for nothing. What is so already is not recorded again.

    Refused for a card that is over."""
    now = _locked_photo(shown)
    if now.role == role:
        return now
    now.role = FindingPhoto.Role(role) if role else ""
    now.save(update_fields=["role"])
    told = now.get_role_display() or "no comparison"
    tell("inspections.photo_named", actor, now.finding.card, role=told, words=now.finding.words, photo=str(now.photo.uid))
    return now


def _locked_photo(shown: FindingPhoto) -> FindingPhoto:
    locked_open(shown.finding.card)
    return FindingPhoto.objects.select_related("photo", "finding__card").get(pk=shown.pk)
