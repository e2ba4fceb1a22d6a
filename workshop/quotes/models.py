"""What was offered, what was answered. Nothing here changes once it is sent."""

import uuid

from django.db import models

from workshop.customers.models import Party
from workshop.files.models import Blob
from workshop.jobs.models import Card, Line
from workshop.pages.fields import MoneyField


class Version(models.Model):
    """A quote as it was shown: body is the canonical JSON of everything on the page."""

    class State(models.TextChoices):
        OPEN = "open", "open"
        ANSWERED = "answered", "answered"
        REPLACED = "replaced", "replaced"
        EXPIRED = "expired", "expired"
        REVOKED = "revoked", "revoked"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="versions")
    no = models.PositiveSmallIntegerField()
    payer = models.ForeignKey(Party, on_delete=models.PROTECT)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    after = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="followed_by")
    basis = models.CharField(max_length=10, default="exclusive")
    body = models.TextField()
    sha256 = models.CharField(max_length=64)
    total_gross = MoneyField()  # of all offered lines together
    request_uid = models.UUIDField(unique=True, null=True)  # what the page that sent it was numbered; none in old rows
    sent_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["card", "no"], name="one_version_per_number")]

    def __str__(self) -> str:
        return f"{self.card} / {self.no}"


class VersionLine(models.Model):
    """A line in a version: offered now, or carried from an answered one."""

    version = models.ForeignKey(Version, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="versions")
    standing = models.CharField(max_length=10, default="offered")  # offered, carried

    class Meta:
        constraints = [models.UniqueConstraint(fields=["version", "line"], name="one_line_per_version")]

    def __str__(self) -> str:
        return f"{self.line} in {self.version}"


class GoAhead(models.Model):
    """One answer to one version: the set before, the set after, the total that was agreed."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    version = models.OneToOneField(Version, on_delete=models.PROTECT, related_name="go_ahead", null=True)
    by = models.CharField(max_length=120)
    standing = models.CharField(max_length=20)  # owner, authorised
    channel = models.CharField(max_length=20)  # link, phoned, on our device
    set_before = models.JSONField(default=list)
    set_after = models.JSONField(default=list)
    total_after_gross = MoneyField()
    ceiling_gross = MoneyField(null=True)
    request_uid = models.UUIDField(unique=True)
    device_at = models.DateTimeField(null=True)
    at = models.DateTimeField()
    address = models.CharField(max_length=60, blank=True)
    browser = models.CharField(max_length=300, blank=True)
    dialled = models.CharField(max_length=30, blank=True, default="")  # on the phone: the number we called
    paper = models.ForeignKey(Blob, on_delete=models.PROTECT, null=True)

    def __str__(self) -> str:
        return f"{self.by} on {self.version}"


class Answer(models.Model):
    """Accept or not now, for one line."""

    go_ahead = models.ForeignKey(GoAhead, on_delete=models.PROTECT, related_name="answers")
    version_line = models.ForeignKey(VersionLine, on_delete=models.PROTECT)
    answer = models.CharField(max_length=10)
    risk_ack = models.BooleanField(default=False)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["go_ahead", "version_line"], name="one_answer_per_line")]

    def __str__(self) -> str:
        return self.answer


class Question(models.Model):
    """What the customer asks about a line; the version stays open."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    version_line = models.ForeignKey(VersionLine, on_delete=models.PROTECT, related_name="questions")
    text = models.TextField()
    asked_at = models.DateTimeField()
    reply = models.TextField(blank=True)
    replied_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.text[:60]
