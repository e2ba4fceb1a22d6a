"""Documents frozen on issue, and what was paid on them."""

import uuid

from django.db import models

from workshop.customers.models import Party
from workshop.files.models import Blob
from workshop.jobs.models import Card, Line
from workshop.pages.fields import MoneyField
from workshop.quotes.models import GoAhead


class Document(models.Model):
    """An invoice or a credit note. It has a number because it is issued; there are no drafts in this table."""

    class Kind(models.TextChoices):
        INVOICE = "invoice", "invoice"
        CREDIT = "credit", "credit note"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    request_uid = models.UUIDField(unique=True)
    kind = models.CharField(max_length=10, choices=Kind)
    number = models.CharField(max_length=20, unique=True)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, null=True, related_name="documents")
    payer = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="documents")
    corrects = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="credits")
    issued_on = models.DateField(db_index=True)
    tax_point_on = models.DateField()
    due_on = models.DateField()
    issued_at = models.DateTimeField()
    basis = models.CharField(max_length=10, default="exclusive")
    net_amount = MoneyField()
    tax_amount = MoneyField()
    gross_amount = MoneyField()
    body = models.TextField()  # canonical JSON of everything on the paper
    sha256 = models.CharField(max_length=64)
    pdf = models.ForeignKey(Blob, on_delete=models.PROTECT, null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(gross_amount=models.F("net_amount") + models.F("tax_amount")), name="net_and_tax_are_gross"
            ),
        ]

    def __str__(self) -> str:
        return self.number


class DocLine(models.Model):
    """A line of a document. It points at the go-ahead that allows it."""

    document = models.ForeignKey(Document, on_delete=models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=200)
    go_ahead = models.ForeignKey(GoAhead, on_delete=models.PROTECT)
    line = models.ForeignKey(Line, on_delete=models.PROTECT, null=True)
    step_id = models.BigIntegerField(null=True)  # the access step on the card, for a line that is access
    line_kind = models.CharField(max_length=20)  # labour, parts, access, call_out: what the books look at
    minutes = models.PositiveIntegerField(default=0)
    labour_amount = MoneyField(default=0)
    parts_amount = MoneyField(default=0)
    amount = MoneyField()
    tax_code = models.CharField(max_length=20)
    corrects = models.ForeignKey("self", on_delete=models.PROTECT, null=True)

    class Meta:
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["document", "position"], name="one_doc_line_per_position")]

    def __str__(self) -> str:
        return self.words


class DocTax(models.Model):
    """The tax of one code on a document."""

    document = models.ForeignKey(Document, on_delete=models.PROTECT, related_name="taxes")
    tax_code = models.CharField(max_length=20)
    rate = models.DecimalField(max_digits=6, decimal_places=4)
    net_amount = MoneyField()
    tax_amount = MoneyField()

    def __str__(self) -> str:
        return f"{self.tax_code} {self.tax_amount}"


class Payment(models.Model):
    """Money that came in, or was given back. `amount` is what changed hands; with `rounding_amount`, of cash, it is what it settles."""

    class Method(models.TextChoices):
        BANK = "bank", "bank transfer"
        CARD = "card", "card"
        CASH = "cash", "cash"

    class Direction(models.TextChoices):
        IN = "in", "taken"
        OUT = "out", "given back"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    request_uid = models.UUIDField(unique=True)
    direction = models.CharField(max_length=3, choices=Direction, default=Direction.IN)
    party = models.ForeignKey(Party, on_delete=models.PROTECT, related_name="payments")
    method = models.CharField(max_length=6, choices=Method)
    amount = MoneyField()
    fee_amount = MoneyField(default=0)  # kept back by who handles the card
    rounding_amount = MoneyField(default=0)  # above zero: the customer gave less, in whole coins of cash
    paid_on = models.DateField()
    reference = models.CharField(max_length=80, blank=True)
    entered_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.amount} {self.method}"


class Allocation(models.Model):
    """How much of a payment pays which document, or was given back. Below zero: released again, because the document was credited."""

    payment = models.ForeignKey(Payment, on_delete=models.PROTECT, related_name="allocations")
    document = models.ForeignKey(Document, on_delete=models.PROTECT, null=True, related_name="allocations")
    refund = models.ForeignKey(Payment, on_delete=models.PROTECT, null=True, related_name="taken_from")
    amount = MoneyField()
    request_uid = models.UUIDField(null=True, db_index=True)  # of credit that was used later
    used_on = models.DateField(null=True)  # when it was used, if later than the payment

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(document__isnull=False, refund__isnull=True) | models.Q(document__isnull=True, refund__isnull=False),
                name="pays_a_document_or_a_refund",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} on {self.document}"
