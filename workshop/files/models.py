"""Bytes, named by their hash."""

from django.db import models


class Blob(models.Model):
    """A file on disk under its SHA-256. Never changed, never deleted while a row names it."""

    sha256 = models.CharField(max_length=64, primary_key=True)
    media_type = models.CharField(max_length=80)
    size = models.PositiveBigIntegerField()
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.sha256[:12]} {self.media_type}"
