"""The list one walks a vehicle by, and what was seen on each walk."""

import uuid

from django.db import models

from workshop.inspections.models import Finding
from workshop.jobs.models import Card


class Row(models.Model):
    """One row of the business's own list. Changing it changes no walk-round that has begun."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    system = models.CharField(max_length=60)
    words = models.CharField(max_length=120)
    look_for = models.CharField(max_length=200, blank=True, default="")
    limit_words = models.CharField(max_length=120, blank=True, default="")
    limit_source = models.CharField(max_length=160, blank=True, default="")
    unit = models.CharField(max_length=12, blank=True, default="")
    position = models.PositiveIntegerField()
    grown_from = models.OneToOneField(Finding, on_delete=models.PROTECT, null=True, related_name="grown_row")
    retired_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(limit_words="") | ~models.Q(limit_source=""), name="a_limit_of_the_list_has_a_source")
        ]

    def __str__(self) -> str:
        return self.words


class Round(models.Model):
    """One walk round a vehicle, on a card."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="walk_rounds")
    by = models.CharField(max_length=120)
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    total: int  # how many rows, and how many nobody looked at: counted by queries.rounds_of
    unseen: int

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["card"], condition=models.Q(ended_at__isnull=True), name="one_open_walk_round_of_a_card")
        ]

    def __str__(self) -> str:
        return f"walk-round of card {self.card}"

    @property
    def looked(self) -> int:
        """How many rows were looked at, or do not apply."""
        return self.total - self.unseen


class RoundRow(models.Model):
    """A row of the list as it was when the walk began, and how the thing is."""

    class State(models.TextChoices):
        GOOD = "good", "good"
        WATCH = "watch", "watch"
        ACT = "act", "act"
        STOP = "stop", "stop"
        NA = "na", "not applicable"
        UNSEEN = "unseen", "not looked at"

    round = models.ForeignKey(Round, on_delete=models.PROTECT, related_name="rows")
    position = models.PositiveIntegerField()
    system = models.CharField(max_length=60)
    words = models.CharField(max_length=120)
    look_for = models.CharField(max_length=200, blank=True, default="")
    limit_words = models.CharField(max_length=120, blank=True, default="")
    limit_source = models.CharField(max_length=160, blank=True, default="")
    unit = models.CharField(max_length=12, blank=True, default="")
    state = models.CharField(max_length=8, choices=State, default=State.UNSEEN)
    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, null=True, related_name="walk_rows")
    by = models.CharField(max_length=120, blank=True, default="")
    at = models.DateTimeField(null=True)

    total: int  # of the whole walk-round: counted by queries.round_row
    unseen: int

    class Meta:
        constraints = [models.UniqueConstraint(fields=["round", "position"], name="one_row_a_place_of_a_walk_round")]

    def __str__(self) -> str:
        return self.words

    @property
    def looked(self) -> int:
        """How many rows of the walk-round were looked at, or do not apply."""
        return self.total - self.unseen
