"""The business itself: what stands on its paper, what it charges from when, how it counts."""

from datetime import time
from decimal import Decimal

from django.db import models

from workshop.pages.fields import MoneyField


class Company(models.Model):
    """The one business of this installation."""

    name = models.CharField(max_length=120)
    address = models.TextField()
    phone = models.CharField(max_length=30)
    email = models.EmailField(blank=True)
    licence_line = models.CharField(max_length=160, blank=True)
    country = models.CharField(max_length=60)
    currency = models.CharField(max_length=3, default="EUR")
    tax_profile = models.CharField(max_length=30)
    tax_number = models.CharField(max_length=40, blank=True)
    bank_details = models.CharField(max_length=160, blank=True)
    payment_days = models.PositiveSmallIntegerField(default=14)
    quote_days = models.PositiveSmallIntegerField(default=7)
    paper_foot = models.CharField(max_length=200, blank=True)  # one free line above the foot of every paper

    def __str__(self) -> str:
        return self.name


class Rate(models.Model):
    """What an hour costs, by class of work, from a date."""

    rate_class = models.CharField(max_length=20)
    from_on = models.DateField()
    hour_amount = MoneyField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["rate_class", "from_on"], name="one_rate_per_class_and_day")]

    def __str__(self) -> str:
        return f"{self.rate_class} {self.hour_amount} from {self.from_on}"


class CallOutRule(models.Model):
    """What the way to the vehicle costs, from a date. The sum itself: calc/travel.py."""

    from_on = models.DateField(unique=True)
    base_amount = MoneyField()
    free_km = models.DecimalField(max_digits=5, decimal_places=1)  # each way
    km_amount = MoneyField()
    travel_class = models.CharField(max_length=20)  # the class of Rate that prices the minutes
    night_factor = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal("1.00"))
    weekend_factor = models.DecimalField(max_digits=4, decimal_places=2, default=Decimal("1.00"))
    night_begins = models.TimeField(default=time(20))
    night_ends = models.TimeField(default=time(6))

    def __str__(self) -> str:
        return f"call-out {self.base_amount} from {self.from_on}"


class TaxRate(models.Model):
    """A tax rate by code, from a date, with where it is written."""

    code = models.CharField(max_length=20)
    from_on = models.DateField()
    rate = models.DecimalField(max_digits=6, decimal_places=4)  # a fraction: 0.2200
    name = models.CharField(max_length=40)
    source = models.CharField(max_length=200)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["code", "from_on"], name="one_tax_rate_per_code_and_day")]

    def __str__(self) -> str:
        return f"{self.code} {self.rate} from {self.from_on}"


class Series(models.Model):
    """A number series: how many numbers of a year were given, and how many elsewhere before the first of them."""

    kind = models.CharField(max_length=20)
    year = models.PositiveSmallIntegerField()
    value = models.PositiveIntegerField(default=0)  # given here; the last number is starts_after + value
    starts_after = models.PositiveIntegerField(default=0)
    last_on = models.DateField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "year"], name="one_series_per_kind_and_year")]

    def __str__(self) -> str:
        return f"{self.kind} {self.year}: {self.value}"


class Wording(models.Model):
    """A text of the business by version: terms, notices, the sentence of a go-ahead. Never changed, only followed by the next."""

    kind = models.CharField(max_length=30)
    no = models.PositiveSmallIntegerField()
    text = models.TextField()
    from_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "no"], name="one_wording_per_kind_and_no")]

    def __str__(self) -> str:
        return f"{self.kind} {self.no}"
