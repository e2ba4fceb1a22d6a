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


class Clip(models.Model):
    """A short film or sound, without its notes; kept as it came, nothing is turned into another kind."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    blob = models.ForeignKey(Blob, on_delete=models.PROTECT, related_name="+")
    media_type = models.CharField(max_length=40)
    seconds = models.DecimalField(max_digits=4, decimal_places=1)
    received_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["blob", "media_type"], name="photos_one_clip_per_bytes")]

    def __str__(self) -> str:
        return str(self.uid)

    @property
    def is_film(self) -> bool:
        """Whether there is something to see."""
        return self.media_type.startswith("video/")
