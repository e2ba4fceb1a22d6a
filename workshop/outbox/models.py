"""Receipts."""

from django.conf import settings
from django.db import models


class Receipt(models.Model):
    """A request that counted once, and what it was answered."""

    op_uid = models.UUIDField(primary_key=True)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True)
    device = models.CharField(max_length=40, null=True)
    number = models.PositiveBigIntegerField(null=True)  # the phone counts; a gap shows what never arrived
    body_sha = models.CharField(max_length=64)
    result = models.JSONField()
    at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["device", "number"], name="one_receipt_per_device_number")]

    def __str__(self) -> str:
        return str(self.op_uid)
