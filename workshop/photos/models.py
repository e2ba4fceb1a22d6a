"""A picture as it is shown and kept as evidence."""

import uuid

from django.db import models

from workshop.files.models import Blob


class Photo(models.Model):
    """Two sizes of one picture, cleaned of location and all other metadata; the time of capture is kept here."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    full = models.ForeignKey(Blob, on_delete=models.PROTECT, related_name="+")
    small = models.ForeignKey(Blob, on_delete=models.PROTECT, related_name="+")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    taken_at = models.DateTimeField(null=True)
    received_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.uid)
