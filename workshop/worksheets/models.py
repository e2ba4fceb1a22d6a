"""Joints to tighten."""

import uuid

from django.db import models

from workshop.jobs.models import Line
from workshop.specifications.models import Value


class Joint(models.Model):
    """A joint of a line. Without a value it shows an empty box "no source on file"."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="joints")
    position = models.PositiveSmallIntegerField()
    component = models.CharField(max_length=120)
    fasteners = models.PositiveSmallIntegerField(default=1)
    value = models.ForeignKey(Value, on_delete=models.PROTECT, null=True)

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
