"""The index behind the search box. Nothing here is a business record: all of it can be made again from the other rooms."""

from typing import Any

from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper


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
