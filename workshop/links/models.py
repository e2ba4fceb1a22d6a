"""An address that works without login."""

import uuid

from django.db import models


class Link(models.Model):
    """One purpose, one subject, one holder. Only the hash of its token is kept."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    purpose = models.CharField(max_length=20)  # "quote", "invoice"
    subject_uid = models.UUIDField(db_index=True)
    for_whom = models.CharField(max_length=120)
    token_sha = models.CharField(max_length=64, unique=True)
    created_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.purpose} for {self.for_whom}"
