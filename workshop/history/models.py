"""The one table of history."""

from django.db import models


class Event(models.Model):
    """One line: who did what to which thing when. Never changed, never deleted (a trigger sees to it); only a payload can be blanked."""

    seq = models.BigIntegerField(primary_key=True)
    at = models.DateTimeField()
    actor = models.CharField(max_length=60)  # "staff:3", "link:<uid>", "system:demo"
    actor_name = models.CharField(max_length=120)
    kind = models.CharField(max_length=60)
    card_id = models.BigIntegerField(null=True, db_index=True)  # plain numbers: history outlives what it tells of
    vehicle_id = models.BigIntegerField(null=True, db_index=True)
    payload = models.TextField()  # canonical JSON, or "" once blanked
    salt = models.CharField(max_length=32)
    payload_sha = models.CharField(max_length=64)
    prev = models.CharField(max_length=64)
    hash = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["seq"]

    def __str__(self) -> str:
        return f"{self.seq} {self.kind}"


class Head(models.Model):
    """The last link of the chain. One row; locking it puts the writers in line."""

    seq = models.BigIntegerField()
    hash = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"head {self.seq}"
