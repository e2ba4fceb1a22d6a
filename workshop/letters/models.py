"""The out-tray."""

import re
import uuid

from django.db import models


class Letter(models.Model):
    """A message to somebody outside: waiting, sent, or failed with the reason."""

    class State(models.TextChoices):
        WAITING = "waiting", "waiting"
        SENT = "sent", "sent"
        FAILED = "failed", "failed"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    to = models.EmailField()
    subject = models.CharField(max_length=200)
    body = models.TextField()
    template = models.CharField(max_length=60)
    subject_uid = models.UUIDField(db_index=True)
    state = models.CharField(max_length=10, choices=State, default=State.WAITING, db_index=True)
    tries = models.PositiveSmallIntegerField(default=0)
    trouble = models.CharField(max_length=300, blank=True)
    written_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.subject} to {self.to}"

    @property
    def shown_body(self) -> str:
        """The text as people may read it: the address of a link gives power, so it is put in only when the letter leaves."""
        return re.sub(r"<<[\w:]+ [0-9a-f-]{36}>>", "(the link)", self.body)
