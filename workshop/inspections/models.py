"""What is looked at before and during the work."""

import re
import uuid

from django.db import models

from workshop import clock
from workshop.jobs.models import Card, Line
from workshop.photos.models import Clip, Photo
from workshop.vehicles.models import Reading

THOUSAND = 1000
RING = 80  # thousandths of the long side, from the middle of the ring to its line


class SiteCheck(models.Model):
    """The place, before work: may we work here?"""

    class Verdict(models.TextChoices):
        WORK = "work", "work here"
        REFUSED = "refused", "do not work here"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="site_checks")
    ground = models.CharField(max_length=120)
    chocked = models.BooleanField(default=False)
    stands = models.BooleanField(default=False)
    traffic = models.CharField(max_length=120, blank=True)
    people = models.CharField("children and animals", max_length=120, blank=True)
    verdict = models.CharField(max_length=10, choices=Verdict)
    why = models.CharField(max_length=200, blank=True)
    alone = models.BooleanField(default=False)
    check_in_at = models.DateTimeField(null=True, blank=True)  # by when whoever works alone says: all is well; empty once that has ended
    call_name = models.CharField(max_length=120, blank=True, default="")
    call_phone = models.CharField(max_length=40, blank=True, default="")
    checked_in_at = models.DateTimeField(null=True, blank=True)
    checked_in_by = models.CharField(max_length=120, blank=True, default="")
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    class Meta:
        indexes = [
            models.Index(fields=["check_in_at"], name="check_in_due", condition=models.Q(check_in_at__isnull=False)),
            models.Index(fields=["by", "-at", "-id"], name="called_before", condition=models.Q(alone=True)),
        ]

    def __str__(self) -> str:
        return self.get_verdict_display()

    @property
    def overdue(self) -> bool:
        """Whether nobody has checked in by the time that was said."""
        return self.check_in_at is not None and self.check_in_at < clock.now()

    @property
    def calls(self) -> str:
        """The number as a telephone takes it: figures and a plus."""
        return re.sub(r"[^\d+]", "", self.call_phone)


class Intake(models.Model):
    """How the vehicle came: what its meters showed, what was on it and in it, and what somebody else had begun."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="intakes")
    km = models.ForeignKey(Reading, on_delete=models.PROTECT, null=True, related_name="+")
    hours = models.ForeignKey(Reading, on_delete=models.PROTECT, null=True, related_name="+")
    fuel = models.CharField(max_length=60, blank=True)
    lamps = models.CharField(max_length=120, blank=True)
    damage = models.CharField(max_length=500, blank=True)
    belongings = models.CharField(max_length=200, blank=True)
    keys = models.CharField(max_length=120, blank=True)
    fitted_by_others = models.CharField(max_length=200, blank=True)
    begun_state = models.CharField(max_length=500, blank=True)  # a half-finished job taken over
    begun_parts = models.CharField(max_length=500, blank=True)
    begun_missing = models.CharField(max_length=500, blank=True)
    acknowledged_by = models.CharField(max_length=120, blank=True)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.card} taken in"


class IntakePhoto(models.Model):
    """A photo of how the vehicle came."""

    intake = models.ForeignKey(Intake, on_delete=models.PROTECT, related_name="photos")
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT)

    def __str__(self) -> str:
        return str(self.photo)


class Finding(models.Model):
    """One thing that was looked at, and how it is."""

    class Condition(models.TextChoices):
        GOOD = "good", "good"
        WATCH = "watch", "watch"
        ACT = "act", "act"
        STOP = "stop", "stop"
        UNSEEN = "unseen", "not looked at"
        NA = "na", "not applicable"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="findings")
    place = models.CharField(max_length=60)
    words = models.CharField(max_length=200)
    condition = models.CharField(max_length=8, choices=Condition)
    measured = models.DecimalField(max_digits=10, decimal_places=3, null=True, blank=True)
    unit = models.CharField(max_length=12, blank=True)
    limit_words = models.CharField(max_length=120, blank=True)
    limit_source = models.CharField(max_length=160, blank=True)
    previous_work = models.CharField(max_length=200, blank=True, default="")  # what somebody did there before
    by = models.CharField(max_length=120)
    found_at = models.DateTimeField()
    origin_card = models.ForeignKey(Card, on_delete=models.PROTECT, null=True, related_name="findings_moved_away")
    moved_at = models.DateTimeField(null=True)
    moved_by = models.CharField(max_length=120, blank=True, default="")

    def __str__(self) -> str:
        return self.words


class Test(models.Model):
    """The record of a test. What was read and what is expected stand on its finding: measured and unit, limit_words and limit_source."""

    __test__ = False  # not one of pytest's

    class State(models.TextChoices):
        COLD = "cold", "cold"
        HOT = "hot", "hot"
        EITHER = "either", "either"

    class Verdict(models.TextChoices):
        EXPECTED = "expected", "as expected"
        NOT_EXPECTED = "not_expected", "not as expected"
        UNCLEAR = "unclear", "unclear"

    finding = models.OneToOneField(Finding, on_delete=models.PROTECT, related_name="test")
    tested = models.CharField(max_length=80)
    tool = models.CharField(max_length=120, blank=True)
    state = models.CharField(max_length=6, choices=State)
    read_words = models.CharField(max_length=120, blank=True)  # what was read where it is no number
    verdict = models.CharField(max_length=12, choices=Verdict)
    rules_out = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return f"{self.tested}: {self.get_verdict_display()}"


class CodeRead(models.Model):
    """One reading of all fault codes, before the work or after it. Without codes it says: none stored."""

    class Moment(models.TextChoices):
        BEFORE = "before", "before the work"
        AFTER = "after", "after the work"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="code_reads")
    moment = models.CharField(max_length=6, choices=Moment)
    tool = models.CharField(max_length=120, blank=True)
    freeze = models.TextField(blank=True)  # what stood beside the codes: speed, load, temperature
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"fault codes {self.get_moment_display()}"


class FaultCode(models.Model):
    """One fault code as it was read. `form` says whose way of writing it has; empty where it has none and is kept word for word."""

    class Status(models.TextChoices):
        STORED = "stored", "stored"
        PENDING = "pending", "pending"
        PERMANENT = "permanent", "permanent"

    read = models.ForeignKey(CodeRead, on_delete=models.PROTECT, related_name="codes")
    code = models.CharField(max_length=40)
    form = models.CharField(max_length=8, blank=True)
    module = models.CharField(max_length=60, blank=True)
    words = models.CharField(max_length=160, blank=True)
    status = models.CharField(max_length=10, choices=Status)

    def __str__(self) -> str:
        return self.code


class CodesCleared(models.Model):
    """The moment from which codes are gone from the vehicle, because somebody cleared them or took the battery off."""

    class How(models.TextChoices):
        TOOL = "tool", "cleared with the tool"
        BATTERY = "battery", "battery taken off"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="codes_cleared")
    how = models.CharField(max_length=8, choices=How)
    by = models.CharField(max_length=120)
    at = models.DateTimeField()

    def __str__(self) -> str:
        return self.get_how_display()


class FindingPhoto(models.Model):
    """A photo of a finding: what it stands for in a comparison, and where a ring was drawn on it."""

    class Role(models.TextChoices):
        WAS = "was", "as it was"
        SHOULD = "should", "as it should be"
        AFTER = "after", "after the work"

    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="photos")
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT)
    caption = models.CharField(max_length=80, blank=True)
    role = models.CharField(max_length=6, choices=Role, blank=True, default="")
    mark_x = models.PositiveSmallIntegerField(null=True)  # thousandths of the width from the left, of the height from the top
    mark_y = models.PositiveSmallIntegerField(null=True)
    origin = models.ForeignKey(Finding, on_delete=models.PROTECT, null=True, related_name="photos_moved_away")
    origin_card = models.ForeignKey(Card, on_delete=models.PROTECT, null=True, related_name="photos_moved_away")
    moved_at = models.DateTimeField(null=True)
    moved_by = models.CharField(max_length=120, blank=True, default="")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(mark_x__isnull=True, mark_y__isnull=True) | models.Q(mark_x__lte=THOUSAND, mark_y__lte=THOUSAND),
                name="mark_on_the_photo",
            )
        ]

    def __str__(self) -> str:
        return str(self.photo)

    @property
    def mark(self) -> tuple[int, int] | None:
        """Where the ring is, thousandths from the left and from the top, or None."""
        return None if self.mark_x is None or self.mark_y is None else (self.mark_x, self.mark_y)

    @property
    def ring(self) -> dict[str, int] | None:
        """The ring in pixels of the full photo: cx, cy, r and line; None without a mark. Its size follows the long side alone."""
        if self.mark is None:
            return None
        radius = max(self.photo.width, self.photo.height) * RING // THOUSAND
        x, y = self.mark
        return {
            "cx": self.photo.width * x // THOUSAND,
            "cy": self.photo.height * y // THOUSAND,
            "r": radius,
            "line": max(radius // 6, 1),
        }

    @property
    def where(self) -> str:
        """The ninth of the photo in which the ring is, in words: top left, middle, bottom right. Empty without a mark."""
        if self.mark is None:
            return ""
        x, y = (min(value * 3 // THOUSAND, 2) for value in self.mark)
        return " ".join(filter(None, (("top", "", "bottom")[y], ("left", "", "right")[x]))) or "middle"


class FindingClip(models.Model):
    """A short film or sound of a finding."""

    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="clips")
    clip = models.ForeignKey(Clip, on_delete=models.PROTECT)
    by = models.CharField(max_length=120)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["finding", "clip"], name="a_clip_once_on_a_finding")]

    def __str__(self) -> str:
        return str(self.clip)


class Cause(models.Model):
    """One finding is the cause of another."""

    effect = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="causes")
    cause = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="effects")
    confidence = models.CharField(max_length=10, default="likely")  # sure, likely, possible

    class Meta:
        constraints = [models.UniqueConstraint(fields=["effect", "cause"], name="one_cause_per_pair")]

    def __str__(self) -> str:
        return f"{self.effect} because of {self.cause}"


class FindingLine(models.Model):
    """The line of work that a finding led to."""

    finding = models.ForeignKey(Finding, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="findings")

    def __str__(self) -> str:
        return f"{self.finding} to {self.line}"
