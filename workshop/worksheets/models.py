"""Joints to tighten; parts that were fitted, what differs from the maker, what is to be looked at again, old parts."""

import uuid

from django.db import models

from workshop.jobs.models import Card, Line
from workshop.photos.models import Photo
from workshop.specifications.models import Value


class Joint(models.Model):
    """A joint of a line. Without a value it shows an empty box "no source on file"."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="joints")
    position = models.PositiveSmallIntegerField()
    component = models.CharField(max_length=120)
    fasteners = models.PositiveSmallIntegerField(default=1)
    value = models.ForeignKey(Value, on_delete=models.PROTECT, null=True)
    struck_reason = models.CharField(
        max_length=200, blank=True, default=""
    )  # taken off the sheet: it counts no longer and stays to be seen
    struck_by = models.CharField(max_length=120, blank=True, default="")
    struck_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["position"]

    def __str__(self) -> str:
        return self.component


class Tick(models.Model):
    """What the tool showed on a joint, who read it, when."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    joint = models.ForeignKey(Joint, on_delete=models.PROTECT, related_name="ticks")
    shown = models.DecimalField(max_digits=10, decimal_places=2)
    unit = models.CharField(max_length=12)
    tool = models.CharField(max_length=60)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.shown} {self.unit}"


class OldPart(models.TextChoices):
    """What became of a part that came out."""

    SHOWN = "shown", "shown and taken away"
    KEPT = "kept", "kept for the customer"
    RETURNED = "returned", "given to the customer"
    SCRAPPED = "scrapped", "scrapped"
    CORE = "core", "sent back for its core"


class FittedPart(models.Model):
    """A part in a place of a vehicle, from a day until the day it came off. The vehicle is the card's: it follows when two are merged.

    What must be taught in (a code, a learned value) holds the vehicle until it is, or until the owner lets it go with a reason.
    """

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="fitted_parts")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, null=True, related_name="fitted_parts")
    part = models.CharField(max_length=120)
    position = models.CharField(max_length=60)
    part_number = models.CharField(max_length=60, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    code = models.CharField(max_length=60, blank=True)  # as printed on the part, for the control unit
    fitted_on = models.DateField()
    fitted_at_km = models.DecimalField(max_digits=10, decimal_places=1, null=True)
    removed_on = models.DateField(null=True)
    removed_card = models.ForeignKey(Card, on_delete=models.PROTECT, null=True, related_name="parts_removed")
    became = models.CharField(max_length=10, choices=OldPart, blank=True)  # once it came off
    old_part = models.CharField(max_length=10, choices=OldPart, blank=True)  # of the one that came out for it
    must_be_taught = models.BooleanField(default=False)
    taught_at = models.DateTimeField(null=True)
    taught_by = models.CharField(max_length=120, blank=True)
    taught_words = models.CharField(max_length=200, blank=True)
    taught_photo = models.ForeignKey(Photo, on_delete=models.PROTECT, null=True, related_name="+")
    let_go_reason = models.CharField(max_length=200, blank=True)  # the owner's: leaves without having been taught in
    let_go_by = models.CharField(max_length=120, blank=True)
    let_go_at = models.DateTimeField(null=True)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.part} {self.position}"

    @property
    def untaught(self) -> bool:
        """Whether it sits in the vehicle and its control unit does not know it."""
        return self.must_be_taught and self.taught_at is None and self.removed_on is None


class Deviation(models.Model):
    """Something was fitted or set otherwise than the maker says: what, why, and who agreed."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="deviations")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, null=True, related_name="deviations")
    joint = models.ForeignKey(Joint, on_delete=models.PROTECT, null=True, related_name="deviations")
    makers_value = models.CharField(max_length=200)
    fitted_value = models.CharField(max_length=200)
    reason = models.CharField(max_length=200)
    agreed_by = models.CharField(max_length=120)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.fitted_value} instead of {self.makers_value}"


class FollowUp(models.Model):
    """To be looked at again: by a day, a distance run in all, or hours run in all. Open until it was done or refused."""

    class State(models.TextChoices):
        OPEN = "open", "open"
        DONE = "done", "done"
        REFUSED = "refused", "refused"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="follow_ups")
    words = models.CharField(max_length=200)
    why = models.CharField(max_length=200, blank=True)
    due_on = models.DateField(null=True)
    due_km = models.DecimalField(max_digits=10, decimal_places=1, null=True)
    due_hours = models.DecimalField(max_digits=10, decimal_places=1, null=True)
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)
    closed_by = models.CharField(max_length=120, blank=True)
    closed_words = models.CharField(max_length=200, blank=True)
    closed_card = models.ForeignKey(Card, on_delete=models.PROTECT, null=True, related_name="follow_ups_closed")

    class Meta:
        indexes = [models.Index(fields=["due_on"], name="open_follow_ups", condition=models.Q(state="open"))]

    def __str__(self) -> str:
        return self.words


class OldParts(models.Model):
    """What became of the old parts of a card. The newest answer counts."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="old_parts")
    outcome = models.CharField(max_length=10, choices=OldPart)
    words = models.CharField(max_length=200, blank=True)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.get_outcome_display()
