"""When we go where, and what is driven."""

import uuid

from django.conf import settings
from django.db import models

from workshop.jobs.models import Card, Line
from workshop.links.models import Link
from workshop.pages.fields import MoneyField


class Stop(models.Model):
    """One appointment of a card. The day's stops are driven by position; the time is what the customer was told."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="stops")
    planned_on = models.DateField()  # the day of planned_at where the business is
    planned_at = models.DateTimeField()
    position = models.PositiveSmallIntegerField(default=0)
    minutes = models.PositiveSmallIntegerField()  # how long we stay
    km_each_way = models.DecimalField(max_digits=5, decimal_places=1, default=0)  # by road, as if driven alone
    minutes_each_way = models.PositiveSmallIntegerField(default=0)
    extra_words = models.CharField(max_length=60, blank=True, default="")  # a ferry, a toll: what the way costs beside, net
    extra_amount = MoneyField(null=True)
    free_reason = models.CharField(max_length=200, blank=True, default="")  # why nobody pays for coming; empty: it is charged
    done_at = models.DateTimeField(null=True)
    cancelled_at = models.DateTimeField(null=True)
    cancelled_reason = models.CharField(max_length=200, blank=True, default="")
    call_out_line = models.ForeignKey(Line, on_delete=models.PROTECT, null=True, related_name="call_out_of")
    changes = models.PositiveIntegerField(default=0)  # a sheet carries it, a calendar counts by it
    changed_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["planned_on", "position"], name="stops_of_a_day")]

    def __str__(self) -> str:
        return f"{self.planned_at:%Y-%m-%d %H:%M} {self.card}"


class Round(models.Model):
    """What was really driven on a day, from the first stop to the door again."""

    driven_on = models.DateField(unique=True)
    km = models.DecimalField(max_digits=6, decimal_places=1)
    minutes = models.PositiveSmallIntegerField(null=True)  # at the wheel; unknown: each is charged the minutes alone

    def __str__(self) -> str:
        return f"{self.driven_on} {self.km} km"


class CalendarLink(models.Model):
    """Whose calendar program reads the stops by which link. The newest one of a person counts."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="calendar_links")
    link = models.OneToOneField(Link, on_delete=models.PROTECT)

    def __str__(self) -> str:
        return f"calendar of {self.user}"
