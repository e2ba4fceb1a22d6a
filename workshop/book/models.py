"""The index behind the search box, which is no record and can be made again from the other rooms; and hand-overs, which are."""

import uuid
from typing import Any

from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper

from workshop.files.models import Blob
from workshop.jobs.models import Card


class WordField(models.CharField):  # type: ignore[type-arg]
    """Compared byte by byte on both databases, so that all words with one beginning lie together in the index."""

    def db_parameters(self, connection: BaseDatabaseWrapper) -> Any:
        """SQLite compares bytes by itself; PostgreSQL compares by language unless told."""
        return {**super().db_parameters(connection), "collation": "C" if connection.vendor == "postgresql" else None}


class SearchWord(models.Model):
    """A word by which a thing is found."""

    class Kind(models.TextChoices):
        VEHICLE = "vehicle", "vehicle"
        PARTY = "party", "customer"
        CARD = "card", "job card"
        DOCUMENT = "document", "invoice"

    word = WordField(max_length=60)
    kind = models.CharField(max_length=10, choices=Kind)
    ref = models.BigIntegerField()

    class Meta:
        indexes = [models.Index(fields=["word", "kind", "ref"], name="word_then_thing")]
        constraints = [models.UniqueConstraint(fields=["kind", "ref", "word"], name="one_word_per_thing")]

    def __str__(self) -> str:
        return f"{self.word} {self.kind} {self.ref}"


class Mark(models.Model):
    """Up to which line of history the index is written. One row."""

    seq = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"indexed to {self.seq}"


class HandOver(models.Model):
    """The vehicle was handed over: to whom, when, and the sheet as it was. A later one stands beside it."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="hand_overs")
    given_to = models.CharField(max_length=120)
    keys_back = models.BooleanField(default=False)
    words = models.CharField(max_length=300, blank=True)
    paper = models.ForeignKey(Blob, on_delete=models.PROTECT, related_name="+")
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.card} to {self.given_to}"
