"""People and firms."""

import uuid

from django.db import models

from workshop.pages.fields import MoneyField


class Party(models.Model):
    """A person or a firm that calls, owns, pays or approves."""

    class Kind(models.TextChoices):
        PRIVATE = "private", "private"
        FIRM = "firm", "firm"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.PRIVATE)
    name = models.CharField(max_length=120, db_index=True)
    address = models.TextField(blank=True)
    tax_number = models.CharField(max_length=40, blank=True)
    note = models.TextField(blank=True)
    number = models.CharField(max_length=30, blank=True)  # under which the business knew them before, in a book or another program
    merged_into = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="merged")  # written down twice: read that one

    class Meta:
        constraints = [models.UniqueConstraint(fields=["number"], condition=~models.Q(number=""), name="one_party_per_number")]

    def __str__(self) -> str:
        return self.name


class Contact(models.Model):
    """A way to reach a party: somebody by name, with number and mail."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="contacts")
    name = models.CharField(max_length=120)
    phone = models.CharField(max_length=30, blank=True, db_index=True)
    email = models.EmailField(blank=True)
    role = models.CharField(max_length=60, blank=True)

    def __str__(self) -> str:
        return self.name


class Approver(models.Model):
    """Who may say yes for a payer, up to what cumulative amount including tax. Lower ranks are asked first; no limit means any amount."""

    payer = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="approvers")
    contact = models.ForeignKey(Contact, on_delete=models.PROTECT)
    limit_gross = MoneyField(null=True, blank=True)
    rank = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["rank"]

    def __str__(self) -> str:
        return f"{self.contact} for {self.payer}"
