"""A vehicle and what its meters said."""

import uuid

from django.db import models

from workshop.customers.models import Party


class Vehicle(models.Model):
    """A vehicle, known by plate or number."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    make = models.CharField(max_length=60)
    model = models.CharField(max_length=60)
    plate = models.CharField(max_length=20, blank=True, db_index=True)
    vin = models.CharField("vehicle number", max_length=20, blank=True, db_index=True)
    engine_code = models.CharField(max_length=20, blank=True)
    built_on = models.DateField(null=True, blank=True)
    merged_into = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="merged")  # written down twice: read that one

    def __str__(self) -> str:
        return f"{self.make} {self.model}"


class Owner(models.Model):
    """Who owned a vehicle from when."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="owners")
    party = models.ForeignKey(Party, on_delete=models.PROTECT)
    from_on = models.DateField()

    def __str__(self) -> str:
        return f"{self.party} from {self.from_on}"


class Meter(models.Model):
    """What counts distance or hours. A swapped meter is a new row."""

    class Unit(models.TextChoices):
        KM = "km", "km"
        HOURS = "h", "h"

    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="meters")
    unit = models.CharField(max_length=4, choices=Unit)
    fitted_on = models.DateField(null=True)

    def __str__(self) -> str:
        return f"{self.vehicle} {self.unit}"


class Reading(models.Model):
    """What a meter showed. A lower one than before is held until a reason is given."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    meter = models.ForeignKey(Meter, on_delete=models.PROTECT, related_name="readings")
    value = models.DecimalField(max_digits=10, decimal_places=1)
    read_at = models.DateTimeField()
    photo_uid = models.UUIDField(null=True)
    held_reason = models.CharField(max_length=200, blank=True)  # a held one does not count
    reason = models.CharField(max_length=200, blank=True, default="")  # why it may be lower than before

    def __str__(self) -> str:
        return f"{self.value} {self.meter.unit}"
