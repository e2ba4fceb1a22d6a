"""A value to work to never stands without its source."""

from django.db import models

from workshop.files.models import Blob


class Source(models.Model):
    """Where a value is written. The kinds from strongest to weakest; K6 is hearsay."""

    class Kind(models.TextChoices):
        K1 = "K1", "maker, for this vehicle"
        K2 = "K2", "maker of the fitted part"
        K3 = "K3", "published standard"
        K4 = "K4", "third-party handbook"
        K5 = "K5", "measured by us"
        K6 = "K6", "second-hand"

    kind = models.CharField(max_length=2, choices=Kind)
    title = models.CharField(max_length=160)
    edition = models.CharField(max_length=40, blank=True)
    page = models.CharField(max_length=20, blank=True)
    page_photo = models.ForeignKey(Blob, on_delete=models.PROTECT, null=True)
    entered_by = models.CharField(max_length=120)
    entered_at = models.DateTimeField()
    checked_by = models.CharField(max_length=120, blank=True)
    checked_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return " ".join(filter(None, [self.title, self.edition and f"ed. {self.edition}", self.page and f"p. {self.page}"]))

    @property
    def confirmed(self) -> bool:
        """K5 and K6 print "unconfirmed"."""
        return self.kind not in {"K5", "K6"}


class Value(models.Model):
    """One number as its source prints it, unit included."""

    class Safety(models.TextChoices):
        CRITICAL = "critical", "critical"
        LEAK = "leak", "leak or damage"
        GENERAL = "general", "general"

    source = models.ForeignKey(Source, on_delete=models.PROTECT, related_name="values")
    quantity = models.CharField(max_length=20)  # torque, fill, limit
    component = models.CharField(max_length=120)
    number = models.DecimalField(max_digits=10, decimal_places=3)
    unit = models.CharField(max_length=12)
    stages = models.JSONField(default=list)  # [{"seat": "45", "unit": "N·m"}, {"angle": "90"}]
    lubrication = models.CharField(max_length=60, blank=True)
    applies_to = models.CharField(max_length=120, blank=True)
    safety = models.CharField(max_length=10, choices=Safety, default=Safety.CRITICAL)
    superseded_by = models.ForeignKey("self", on_delete=models.PROTECT, null=True)

    def __str__(self) -> str:
        return f"{self.component}: {self.number.normalize():f} {self.unit}"
