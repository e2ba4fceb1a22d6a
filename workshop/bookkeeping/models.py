"""Batches for the bookkeeper."""

from django.db import models

from workshop.customers.models import Party
from workshop.files.models import Blob
from workshop.ledger.models import Entry
from workshop.pages.fields import MoneyField


class Account(models.Model):
    """Role, line kind, tax code and customer kind to an account name. An empty column fits everything; the fullest match wins."""

    role = models.CharField(max_length=30)
    line_kind = models.CharField(max_length=20, blank=True)
    tax_code = models.CharField(max_length=20, blank=True)
    customer_kind = models.CharField(max_length=10, blank=True)
    name = models.CharField(max_length=80)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["role", "line_kind", "tax_code", "customer_kind"], name="one_account_per_case")]

    def __str__(self) -> str:
        return self.name


class Batch(models.Model):
    """A numbered set of entries and their files. Old files never change: a batch that is written anew is another that replaces it."""

    no = models.PositiveIntegerField(unique=True)
    from_on = models.DateField()
    to_on = models.DateField()
    made_at = models.DateTimeField()
    made_by = models.CharField(max_length=120)
    sha256 = models.CharField(max_length=64)
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    reason = models.CharField(max_length=200, blank=True)  # why it replaces

    def __str__(self) -> str:
        return f"batch {self.no}"


class BatchEntry(models.Model):
    """An entry is in exactly one batch that counts: once, or again in the batch that replaces the one it was in."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="entries")
    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="batched")
    replaces = models.OneToOneField("self", on_delete=models.PROTECT, null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["entry"], condition=models.Q(replaces=None), name="one_batch_that_counts")]

    def __str__(self) -> str:
        return f"{self.entry} in {self.batch}"


class BatchFile(models.Model):
    """A file of a batch, byte for byte."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="files")
    name = models.CharField(max_length=60)
    blob = models.ForeignKey(Blob, on_delete=models.PROTECT)

    def __str__(self) -> str:
        return self.name


class BroughtOver(models.Model):
    """An invoice of another book that was unpaid on the day of the opening balances; its amount stands in that entry."""

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="brought_over")
    party = models.ForeignKey(Party, on_delete=models.PROTECT)
    number = models.CharField(max_length=40)
    due_on = models.DateField(null=True)
    amount = MoneyField()

    def __str__(self) -> str:
        return f"{self.number}, {self.amount}"
