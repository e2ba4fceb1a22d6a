"""Balanced entries, written once."""

import uuid

from django.db import models

from workshop.pages.fields import MoneyField


class Entry(models.Model):
    """One business fact: its postings add up to zero. Corrected only by another entry that reverses it."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    source_uid = models.UUIDField(db_index=True)
    source_kind = models.CharField(max_length=20)  # invoice, credit, payment, refund, opening
    reference = models.CharField(max_length=60)
    dated_on = models.DateField(db_index=True)
    tax_point_on = models.DateField()
    entered_at = models.DateTimeField()
    words = models.CharField(max_length=200)
    reverses = models.ForeignKey("self", on_delete=models.PROTECT, null=True)

    def __str__(self) -> str:
        return f"{self.dated_on} {self.reference}"


class Posting(models.Model):
    """A signed amount on a role (receivable, sales, output tax, bank): debit positive, credit negative.

    Accounts are mapped when a batch is written.
    """

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="postings")
    position = models.PositiveSmallIntegerField()
    role = models.CharField(max_length=30)
    line_kind = models.CharField(max_length=20, blank=True)  # labour, parts, call_out: what the mapping looks at
    tax_code = models.CharField(max_length=20, blank=True)
    customer_kind = models.CharField(max_length=10, blank=True)
    party_uid = models.UUIDField(null=True, db_index=True)
    amount = MoneyField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["entry", "position"], name="one_posting_per_position")]

    def __str__(self) -> str:
        return f"{self.role} {self.amount}"


class Close(models.Model):
    """No entry is dated on or before this day any more."""

    through_on = models.DateField()
    at = models.DateTimeField()
    by = models.CharField(max_length=120)
    reason = models.CharField(max_length=200)
    reopened = models.BooleanField(default=False)
    reopened_at = models.DateTimeField(null=True)
    reopened_by = models.CharField(max_length=120, blank=True)
    reopened_reason = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"closed through {self.through_on}"


class Book(models.Model):
    """One row: the close date as it stands. Whoever posts, closes or exports locks it, so that no entry slips behind a close."""

    closed_through_on = models.DateField(null=True)

    def __str__(self) -> str:
        return f"books, closed through {self.closed_through_on}"
