"""Operations, access steps and kits that are copied to a card. A card never prices by reference: what is changed here changes no card."""

import uuid

from django.db import models

from workshop.pages.fields import MoneyField


class Reuse(models.TextChoices):
    """Whether hardware may go back in once it was out."""

    NEVER = "never", "never again"
    INSPECT = "inspect", "inspect to its limit"
    YES = "yes", "may go back in"


class Step(models.Model):
    """A step of opening up as it is usually done: minutes to open, minutes to close, what opening uses up."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    words = models.CharField(max_length=120)
    open_minutes = models.PositiveIntegerField()
    close_minutes = models.PositiveIntegerField()
    material_words = models.CharField(max_length=120, blank=True)
    material_amount = MoneyField(default=0)
    fits = models.CharField(max_length=120, blank=True)  # vehicles it was done on, in words
    retired_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.words


class StepNeeds(models.Model):
    """A step that must be open before another."""

    step = models.ForeignKey(Step, on_delete=models.CASCADE, related_name="needs")
    needs = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="needed_by")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["step", "needs"], name="catalogue_one_need_per_pair")]

    def __str__(self) -> str:
        return f"{self.step} needs {self.needs}"


class Operation(models.Model):
    """A piece of work as it is usually done, with what it needs. Grows from lines that were done."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    kind = models.CharField(max_length=12)  # of jobs.Line
    words = models.CharField(max_length=200)
    plain_words = models.TextField(blank=True)
    if_left = models.CharField(max_length=200, blank=True)
    own_minutes = models.PositiveIntegerField(default=0)
    rate_class = models.CharField(max_length=20, default="workshop")
    fixed_amount = MoneyField(null=True, blank=True)
    fixed_reason = models.CharField(max_length=200, blank=True)
    critical = models.BooleanField(default=False)
    tools = models.CharField(max_length=200, blank=True)  # what to bring, besides the parts
    consumables = models.CharField(max_length=200, blank=True)
    fits = models.CharField(max_length=120, blank=True)
    from_card = models.CharField(max_length=20, blank=True)  # number of the card it was saved from
    saved_by = models.CharField(max_length=120)
    saved_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True)
    retired_reason = models.CharField(max_length=200, blank=True, default="")
    changes = models.PositiveIntegerField(default=0)  # how often it was changed, so that an old page is refused

    def __str__(self) -> str:
        return self.words


class OperationPart(models.Model):
    """A part of an operation. `reuse` is empty for what is no hardware of a joint."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="parts")
    words = models.CharField(max_length=120)
    part_number = models.CharField(max_length=60, blank=True)
    quantity = models.DecimalField(max_digits=8, decimal_places=3, default=1)
    amount = MoneyField()
    cost = MoneyField(null=True, blank=True)
    reuse = models.CharField(max_length=8, choices=Reuse, blank=True, default="")
    reuse_source = models.CharField(max_length=160, blank=True, default="")
    fluid = models.CharField(max_length=60, blank=True, default="")  # filled once however many operations drain it: its name

    def __str__(self) -> str:
        return self.words


class OperationStep(models.Model):
    """A step that must be open for an operation."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="steps")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="operations")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["operation", "step"], name="catalogue_one_step_per_operation")]

    def __str__(self) -> str:
        return f"{self.operation} needs {self.step}"


class Kit(models.Model):
    """Operations that go together."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    words = models.CharField(max_length=120)
    saved_by = models.CharField(max_length=120)
    saved_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True)
    retired_reason = models.CharField(max_length=200, blank=True, default="")

    def __str__(self) -> str:
        return self.words


class KitOperation(models.Model):
    """An operation of a kit, in its place."""

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="operations")
    operation = models.ForeignKey(Operation, on_delete=models.PROTECT, related_name="kits")
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["kit", "operation"], name="catalogue_one_operation_per_kit")]

    def __str__(self) -> str:
        return f"{self.kit}: {self.operation}"
