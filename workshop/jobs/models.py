"""The job card and what hangs on it."""

import uuid
from datetime import datetime
from decimal import Decimal

from django.db import models

from workshop.catalogue.models import Operation, Reuse, Step
from workshop.customers.models import Contact, Party
from workshop.pages.fields import MoneyField
from workshop.photos.models import Photo
from workshop.staff.models import User
from workshop.vehicles.models import Vehicle


class Card(models.Model):
    """One visit or strand of work on one vehicle. The number comes from the office's series; a card begun without signal has none yet."""

    class State(models.TextChoices):
        OPEN = "open", "open"
        READY = "ready", "ready"
        CLOSED = "closed", "closed"
        CANCELLED = "cancelled", "cancelled"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    number = models.CharField(max_length=20, unique=True, null=True)
    vehicle = models.ForeignKey(Vehicle, on_delete=models.PROTECT, related_name="cards")
    state = models.CharField(max_length=10, choices=State, default=State.OPEN, db_index=True)
    place = models.CharField(max_length=200, blank=True)
    due_at = models.DateTimeField(null=True, blank=True, db_index=True)
    moves = models.CharField(max_length=20, blank=True)  # drives, rolls, stands
    aim = models.CharField(max_length=200, blank=True, default="")  # what the owner wants in the end
    used_for = models.CharField(max_length=120, blank=True, default="")
    limit_gross = MoneyField(null=True, blank=True)  # what may be spent without asking, with tax
    stop_signs = models.CharField(max_length=60, blank=True, default="")  # names of actions.STOP_SIGNS, with a comma between
    recalls_on = models.DateField(null=True, blank=True)  # when recalls were looked up, and where
    recalls_source = models.CharField(max_length=120, blank=True, default="")
    drive_advice = models.CharField(max_length=20, blank=True)  # do_not, gently, safe
    drive_words = models.CharField(max_length=200, blank=True)
    opened_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)
    ended_reason = models.CharField(max_length=200, blank=True, default="")  # of a cancelled card

    def __str__(self) -> str:
        return self.number or "no number yet"


class Complaint(models.Model):
    """What the customer says, in the customer's words, what was asked about it, and what came of it in the end."""

    class Heat(models.TextChoices):
        COLD = "cold", "cold"
        HOT = "hot", "hot"
        BOTH = "both", "cold and hot"

    class Smoke(models.TextChoices):
        NONE = "none", "none"
        WHITE = "white", "white"
        BLUE = "blue", "blue"
        BLACK = "black", "black"

    class Outcome(models.TextChoices):
        CURED = "cured", "cured"
        BETTER = "better", "better"
        NOT_FOUND = "not_found", "not found"
        NOT_DONE = "not_done", "not done"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="complaints")
    words = models.TextField()
    noticed_by = models.CharField(max_length=120, blank=True)
    since = models.CharField(max_length=80, blank=True)
    heat = models.CharField(max_length=4, choices=Heat, blank=True, default="")
    load = models.CharField(max_length=120, blank=True, default="")
    smoke = models.CharField(max_length=5, choices=Smoke, blank=True, default="")
    lamps = models.CharField(max_length=120, blank=True, default="")
    last_work = models.CharField(max_length=200, blank=True, default="")
    tried = models.CharField("tried without success", max_length=200, blank=True, default="")
    outcome = models.CharField(max_length=12, choices=Outcome, blank=True)

    def __str__(self) -> str:
        return self.words[:60]

    @property
    def told(self) -> str:
        """What was told about it, on one line; empty when nothing was asked."""
        told = {
            "noticed by ": self.noticed_by,
            "since ": self.since,
            "": self.get_heat_display(),
            "load: ": self.load,
            "smoke: ": self.get_smoke_display(),
            "lamps: ": self.lamps,
            "last work: ": self.last_work,
            "tried without success: ": self.tried,
        }
        return " · ".join(f"{name}{what}" for name, what in told.items() if what)


class Role(models.Model):
    """Who stands where on a card: caller, owner, payer, approver."""

    class Kind(models.TextChoices):
        CALLER = "caller", "caller"
        OWNER = "owner", "owner"
        PAYER = "payer", "payer"
        APPROVER = "approver", "approver"

    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="roles")
    kind = models.CharField(max_length=10, choices=Kind)
    party = models.ForeignKey(Party, on_delete=models.PROTECT)
    contact = models.ForeignKey(Contact, on_delete=models.PROTECT, null=True, related_name="stands_in")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["card", "kind"], name="one_role_of_a_kind_per_card")]

    def __str__(self) -> str:
        return f"{self.kind} {self.party}"


class Line(models.Model):
    """A line of work. Its number on the card is never used again. Answer and progress are two machines."""

    class Kind(models.TextChoices):
        FAILED = "failed", "failed"
        DUE = "due", "due"
        WANTED = "wanted", "wanted"
        REQUIRED = "required", "required"
        FIRST_PRICE = "first_price", "call-out and diagnosis"
        STRIP = "strip", "strip"

    class Answer(models.TextChoices):
        DRAFT = "draft", "not offered yet"
        OFFERED = "offered", "offered"
        ACCEPTED = "accepted", "accepted"
        NOT_NOW = "not_now", "not now"
        WITHDRAWN = "withdrawn", "withdrawn"
        EXPIRED = "expired", "expired"

    class Progress(models.TextChoices):
        PLANNED = "planned", "planned"
        STARTED = "started", "started"
        DONE = "done", "done"
        CHECKED = "checked", "checked"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="lines")
    number = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=12, choices=Kind)
    words = models.CharField(max_length=200)
    plain_words = models.TextField(blank=True)  # for the customer, 25 words at most
    if_left = models.CharField(max_length=200, blank=True)
    own_minutes = models.PositiveIntegerField(default=0)
    rate_class = models.CharField(max_length=20, default="workshop")
    fixed_amount = MoneyField(null=True, blank=True)  # a line of only words and a price
    fixed_reason = models.CharField(max_length=200, blank=True)
    tax_code = models.CharField(max_length=20, default="standard")
    critical = models.BooleanField(default=False)
    answer = models.CharField(max_length=10, choices=Answer, default=Answer.DRAFT)
    progress = models.CharField(max_length=10, choices=Progress, default=Progress.PLANNED)
    done_at = models.DateTimeField(null=True)
    struck_reason = models.CharField(max_length=200, blank=True)
    repeats = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="repeated_by")  # "not now" on an earlier card
    from_operation = models.ForeignKey(Operation, on_delete=models.PROTECT, null=True, related_name="lines")  # a copy of it
    bring = models.CharField(max_length=400, blank=True, default="")  # tools and consumables to load, besides the parts

    class Meta:
        ordering = ["number"]
        constraints = [models.UniqueConstraint(fields=["card", "number"], name="one_line_per_number")]

    def __str__(self) -> str:
        return f"{self.number} {self.words}"


class LinePart(models.Model):
    """A part on a line: what the customer pays for it, what it costs us."""

    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="parts")
    words = models.CharField(max_length=120)
    part_number = models.CharField(max_length=60, blank=True)
    quantity = models.DecimalField(max_digits=8, decimal_places=3, default=1)
    amount = MoneyField()  # for the whole quantity, net
    cost = MoneyField(null=True, blank=True)
    reuse = models.CharField(max_length=8, choices=Reuse, blank=True, default="")
    reuse_source = models.CharField(max_length=160, blank=True, default="")
    fluid = models.CharField(max_length=60, blank=True, default="")  # its name, when it is filled once for all lines that drain it
    in_hand = models.DecimalField(max_digits=8, decimal_places=3, null=True)  # None: nobody has counted
    fitted_new_at = models.DateTimeField(null=True)  # "new ones are in", for hardware that is never used again
    fitted_new_by = models.CharField(max_length=120, blank=True, default="")

    def __str__(self) -> str:
        return self.words

    @property
    def counted(self) -> str:
        """Its quantity and name: 4 stretch bolts."""
        return f"{self.quantity.normalize():f} {self.words}"

    @property
    def short(self) -> Decimal:
        """How many are missing by the count; 0 when all are in hand or nobody has counted."""
        return max(Decimal(0), self.quantity - self.in_hand) if self.in_hand is not None else Decimal(0)

    @property
    def never_again(self) -> bool:
        """Whether only a new one may go in."""
        return self.reuse == Reuse.NEVER


class CardStep(models.Model):
    """A step of opening up on this card: minutes to open, minutes to close, what opening uses up."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="steps")
    position = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=120)
    open_minutes = models.PositiveIntegerField()
    close_minutes = models.PositiveIntegerField()
    material_words = models.CharField(max_length=120, blank=True)
    material_amount = MoneyField(default=0)
    from_step = models.ForeignKey(Step, on_delete=models.PROTECT, null=True, related_name="card_steps")  # copied from it

    class Meta:
        ordering = ["position"]
        constraints = [models.UniqueConstraint(fields=["card", "position"], name="one_step_per_position")]

    def __str__(self) -> str:
        return self.words


class StepNeeds(models.Model):
    """A step that must be open before another."""

    step = models.ForeignKey(CardStep, on_delete=models.CASCADE, related_name="needs")
    needs = models.ForeignKey(CardStep, on_delete=models.CASCADE, related_name="needed_by")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["step", "needs"], name="one_need_per_pair")]

    def __str__(self) -> str:
        return f"{self.step} needs {self.needs}"


class LineStep(models.Model):
    """A step that must be open for a line."""

    line = models.ForeignKey(Line, on_delete=models.CASCADE, related_name="steps")
    step = models.ForeignKey(CardStep, on_delete=models.CASCADE, related_name="lines")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["line", "step"], name="one_step_per_line")]

    def __str__(self) -> str:
        return f"{self.line} needs {self.step}"


class Episode(models.Model):
    """One opening of an access step: opened, closing, closed. Opened again, it is a new one."""

    class Cause(models.TextChoices):
        PLANNED = "planned", "as planned"
        PARTS = "parts", "closed while parts were awaited"
        MORE = "more", "more was ordered"
        OURS = "ours", "our fault"

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    step = models.ForeignKey(CardStep, on_delete=models.PROTECT, related_name="episodes")
    cause = models.CharField(max_length=8, choices=Cause, default=Cause.PLANNED)
    bags = models.CharField(max_length=60, blank=True)  # numbers of the bags with what was taken off
    opened_at = models.DateTimeField()
    opened_by = models.CharField(max_length=120)
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, null=True, related_name="+")  # before the covers go on
    no_photo_why = models.CharField(max_length=200, blank=True)
    closing_at = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    closed_by = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["step"], condition=models.Q(closed_at=None), name="one_opening_at_a_time")]

    def __str__(self) -> str:
        return f"{self.step} opened"

    @property
    def state(self) -> str:
        """open, closing or closed."""
        return "closed" if self.closed_at else "closing" if self.closing_at else "open"


class Spell(models.Model):
    """Time of one person on one line, from start to stop."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    line = models.ForeignKey(Line, on_delete=models.PROTECT, related_name="spells")
    person = models.ForeignKey(User, on_delete=models.PROTECT, related_name="spells")
    started_at = models.DateTimeField()
    stopped_at = models.DateTimeField(null=True)
    changed_reason = models.CharField(max_length=200, blank=True)  # why its times were put right

    class Meta:
        constraints = [models.UniqueConstraint(fields=["person"], condition=models.Q(stopped_at=None), name="one_spell_at_a_time")]

    def __str__(self) -> str:
        return f"{self.person} on {self.line}"

    def minutes(self, now: datetime) -> int:
        """Whole minutes from the start to the stop, or to now while it runs."""
        return int(((self.stopped_at or now) - self.started_at).total_seconds() // 60)


class Leaving(models.Model):
    """The vehicle is left alone: in what state, on what, who was told. Coming back starts with a look at it."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="leavings")
    state = models.CharField(max_length=300)
    supports = models.CharField(max_length=200)
    keys = models.CharField(max_length=120)
    no_start_card = models.BooleanField(default=False)
    told = models.CharField(max_length=120)
    left_at = models.DateTimeField()
    left_by = models.CharField(max_length=120)
    back_at = models.DateTimeField(null=True)
    back_by = models.CharField(max_length=120, blank=True)
    look = models.CharField(max_length=300, blank=True)  # what was seen on coming back

    class Meta:
        constraints = [models.UniqueConstraint(fields=["card"], condition=models.Q(back_at=None), name="left_once_at_a_time")]

    def __str__(self) -> str:
        return f"{self.card} left"


class LeavingPhoto(models.Model):
    """A photo of how the vehicle was left, or of how it was found on coming back."""

    leaving = models.ForeignKey(Leaving, on_delete=models.PROTECT, related_name="photos")
    photo = models.ForeignKey(Photo, on_delete=models.PROTECT, related_name="+")
    on_return = models.BooleanField(default=False)

    def __str__(self) -> str:
        return str(self.photo)


class Hold(models.Model):
    """Something that must be cleared first. A higher room sets it and releases it."""

    class Stops(models.TextChoices):
        START = "start", "start"
        ORDER = "order", "order"
        DONE = "done", "done"
        READY = "ready", "ready"

    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="holds")
    line = models.ForeignKey(Line, on_delete=models.PROTECT, null=True, related_name="holds")
    stops = models.CharField(max_length=6, choices=Stops)
    reason = models.CharField(max_length=200)
    by_room = models.CharField(max_length=20)
    set_at = models.DateTimeField()
    released_at = models.DateTimeField(null=True)
    released_by = models.CharField(max_length=120, blank=True)
    why = models.CharField(max_length=200, blank=True)

    def __str__(self) -> str:
        return self.reason


class Note(models.Model):
    """A remark on a card, from the phone or the desk."""

    uid = models.UUIDField(unique=True, default=uuid.uuid4, editable=False)
    card = models.ForeignKey(Card, on_delete=models.PROTECT, related_name="notes")
    words = models.TextField()
    by = models.CharField(max_length=120)
    written_at = models.DateTimeField()  # by the phone's clock when it came from a phone
    received_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.words[:60]
