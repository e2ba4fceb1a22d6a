"""Read versions, and price any choice of a version from its frozen body alone."""

import json
import uuid
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Exists, F, OuterRef, QuerySet

from workshop import clock
from workshop.calc import labour, tax
from workshop.calc.money import ZERO
from workshop.customers.models import Contact
from workshop.jobs.models import Card, Episode, Line, LinePart
from workshop.links.models import Link
from workshop.quotes.models import GoAhead, Question, Version

Body = dict[str, Any]


ACCEPT, NOT_NOW = "accept", "not-now"
PROGRESS_OF_CARD: dict[str, str] = {Card.State.READY: "ready", Card.State.CLOSED: "handed_over"}


class Refused(ValueError):
    """Nothing was changed; the text is a sentence for the person."""


class Conflict(Refused):
    """The same request number came before with other content: what was done first stands, nothing was done now."""


@dataclass(frozen=True)
class Given:
    """What somebody answered, and how we heard it. `at` is the server's time."""

    answers: Mapping[int, str]
    name: str
    standing: str
    channel: str
    request_uid: uuid.UUID
    at: datetime
    address: str = ""
    browser: str = ""
    dialled: str = ""
    device_at: datetime | None = None

    @property
    def accepted(self) -> list[int]:
        return sorted(number for number, answer in self.answers.items() if answer == ACCEPT)

    @property
    def declined(self) -> list[int]:
        return sorted(number for number, answer in self.answers.items() if answer == NOT_NOW)


@dataclass(frozen=True)
class ShownLine:
    """A line beside the current choice. `gross`: its own work and parts with its share of the tax, for reading.
    `change`: what turning its answer round does to the total, worked out from two sets; less is negative."""

    number: int
    chosen: bool
    gross: Decimal
    change: Decimal


@dataclass(frozen=True)
class Access:
    """What is opened and closed for the choice, charged once. `users`: lines that keep it now; `possible`: all lines that would."""

    gross: Decimal
    minutes: int
    users: tuple[int, ...]
    possible: tuple[int, ...]
    words: tuple[str, ...]
    fallen: tuple[str, ...]


@dataclass(frozen=True)
class Choice(tax.Taxed):
    """The price of the accepted lines of a version. `gross` is the choice by itself, `committed_gross` what was agreed before,
    `after_gross` everything that is then ordered, as it will be invoiced: the sum of all lines, taxed once."""

    accepted: tuple[int, ...]
    minutes: int
    lines: tuple[ShownLine, ...]
    access: Access | None
    committed_gross: Decimal
    after_gross: Decimal


def body(version: Version) -> Body:
    """The frozen page as it was sent: amounts are texts with their places."""
    return json.loads(version.body)  # type: ignore[no-any-return]


def price_choice(version: Version, accepted: Collection[int]) -> Choice:
    """The price of these line numbers of a version. ValueError for a number that the version does not offer."""
    return price(body(version), accepted)


def price(page: Body, accepted: Collection[int]) -> Choice:
    """As price_choice, from a body that is not sent yet."""
    return Pricing(page).choice(accepted)


class Pricing:
    """A body's lines, steps, rate and tax as calc.labour takes them."""

    def __init__(self, page: Body) -> None:
        self.offered = {int(line["number"]): f"line-{line['number']}" for line in page["offered"]}
        self.carried = [f"line-{line['number']}" for line in page["committed"]["lines"]]
        self.operations = tuple(_operation(line) for line in [*page["committed"]["lines"], *page["offered"]])
        self.steps = tuple(_step(step) for step in page["steps"])
        self.words = {step["key"]: _step_words(step) for step in page["steps"]}
        self.rate_per_hour = Decimal(page["pricing"]["rate_per_hour"])
        self.tax_rate = Decimal(page["pricing"]["tax_rate"])
        self.before = self._set([])

    def _set(self, numbers: Iterable[int]) -> labour.SetPrice:
        keys = [*self.carried, *(self.offered[number] for number in numbers)]
        return labour.price_set(self.operations, self.steps, keys, rate_per_hour=self.rate_per_hour, tax_rate=self.tax_rate)

    def after(self, numbers: Iterable[int]) -> labour.SetPrice:
        """Everything agreed once these lines are accepted, what was agreed before included."""
        return self._set(numbers)

    def added(self, numbers: Iterable[int]) -> labour.SetPrice:
        """What these lines add to what was agreed before; a step that is open for a carried line is not charged again."""
        known = {line.key for line in self.before.lines}
        lines = tuple(line for line in self._set(numbers).lines if line.key not in known)
        total = tax.from_net(sum((line.net for line in lines), ZERO), self.tax_rate)
        return labour.SetPrice(total.net, total.tax, total.gross, sum(line.minutes for line in lines), lines)

    def stop_here(self, number: int) -> dict[str, Any]:
        """What a strip costs when nothing is ordered after it: opening, closing and materials, and what the line itself holds.

        Of a line of steps only, with nothing agreed before, it is labour.stopped_after_opening."""
        price = self.added([number])
        return {"minutes": price.minutes, "net": price.net, "gross": price.gross}

    def choice(self, accepted: Collection[int]) -> Choice:
        """The choice with every line beside it."""
        if unknown := sorted(set(accepted) - set(self.offered)):
            raise ValueError(f"This quote has no line {', '.join(map(str, unknown))}.")
        numbers = tuple(number for number in self.offered if number in set(accepted))
        now = self.added(numbers)
        return Choice(
            now.net,
            now.tax,
            now.gross,
            accepted=numbers,
            minutes=now.minutes,
            lines=self._lines(numbers, now),
            access=self._access(numbers, now),
            committed_gross=self.before.gross,
            after_gross=self._set(numbers).gross,
        )

    def _lines(self, numbers: tuple[int, ...], now: labour.SetPrice) -> tuple[ShownLine, ...]:
        shown = {line.key: line.gross for source in (self.added(self.offered), now) for line in labour.shown_prices(source)}
        return tuple(
            ShownLine(number, number in numbers, shown[key], self.added(_toggled(numbers, number)).gross - now.gross)
            for number, key in self.offered.items()
        )

    def _access(self, numbers: tuple[int, ...], now: labour.SetPrice) -> Access | None:
        everything = self.added(self.offered)
        if not any(line.kind == "step" for line in everything.lines):
            return None
        opened = [line for line in (now if numbers else everything).lines if line.kind == "step"]
        keys = {line.key for line in opened}
        possible = self._users({line.key for line in everything.lines}, self.offered)
        return Access(
            gross=labour.shown_access(labour.shown_prices(now if numbers else everything)),
            minutes=sum(line.minutes for line in opened),
            users=self._users(keys, numbers or self.offered),
            possible=possible,
            words=tuple(self.words[line.key] for line in opened),
            fallen=tuple(self.words[line.key] for line in everything.lines if line.kind == "step" and line.key not in keys),
        )

    def _users(self, steps: set[str], numbers: Iterable[int]) -> tuple[int, ...]:
        by_key = {key: number for number, key in self.offered.items()}
        users = labour.users_of_step(self.operations, self.steps, [self.offered[number] for number in numbers])
        return tuple(sorted({by_key[key] for step, keepers in users.items() if step in steps for key in keepers}))

    def committed(self) -> tuple[labour.ShownPrice, ...]:
        """What was agreed before, line by line with its share of the tax."""
        return labour.shown_prices(self.before)


def _toggled(numbers: tuple[int, ...], number: int) -> tuple[int, ...]:
    return tuple(other for other in numbers if other != number) if number in numbers else (*numbers, number)


def _operation(line: dict[str, Any]) -> labour.Operation:
    return labour.Operation(
        f"line-{line['number']}", int(line["own_minutes"]), Decimal(line["parts_amount"]), tuple(str(key) for key in line["needs"])
    )


def _step_words(step: dict[str, Any]) -> str:
    return f"{step['words']} ({step['material_words']})" if step["material_words"] else str(step["words"])


def _step(step: dict[str, Any]) -> labour.Step:
    return labour.Step(
        step["key"], int(step["open_minutes"]), int(step["close_minutes"]), tuple(step["needs"]), Decimal(step["material_amount"])
    )


def standing(version: Version, link: Link) -> str:
    """How the page by this link is to be shown: open, answered, replaced, expired or revoked. Asking changes nothing."""
    if link.revoked_at is not None or version.state == Version.State.REVOKED:
        return "revoked"
    if version.state == Version.State.OPEN and clock.now() >= version.expires_at:
        return "expired"
    return version.state


def behind(link: Link) -> Version:
    """The version that a link shows, with its card."""
    return Version.objects.select_related("card", "go_ahead").get(uid=link.subject_uid)


def link_of(version: Version) -> Link | None:
    """The newest link to a version that was not revoked."""
    return Link.objects.filter(purpose="quote", subject_uid=version.uid, revoked_at=None).order_by("-pk").first()


def links_of(versions: Iterable[Version]) -> dict[uuid.UUID, Link]:
    """The newest living link of each version, by the version's uid."""
    made = Link.objects.filter(purpose="quote", subject_uid__in=[version.uid for version in versions], revoked_at=None)
    return {link.subject_uid: link for link in made.order_by("pk")}


def progress(version: Version) -> str:
    """Where the work is that was ordered up to this answer: ordered, begun, waiting, ready, handed_over; nothing when none is to be done.

    Told from the card, in one query: waiting is a part that was counted and is short, on a line that is not done."""
    short = LinePart.objects.filter(line=OuterRef("pk"), in_hand__lt=F("quantity"))
    opened = Episode.objects.filter(step__lines__line=OuterRef("pk"))
    ordered = Line.objects.filter(card=version.card_id, number__in=version.go_ahead.set_after, answer=Line.Answer.ACCEPTED)
    rows = ordered.exclude(kind=Line.Kind.FIRST_PRICE).annotate(short=Exists(short), opened=Exists(opened))
    lines = [*rows.values_list("progress", "short", "opened")]
    if not lines or version.card.state == Card.State.CANCELLED:
        return ""
    if version.card.state in PROGRESS_OF_CARD:
        return PROGRESS_OF_CARD[version.card.state]
    if any(waits for at, waits, _ in lines if at in {Line.Progress.PLANNED, Line.Progress.STARTED}):
        return "waiting"
    return "begun" if any(at != Line.Progress.PLANNED or open_ for at, _, open_ in lines) else "ordered"


def newer(version: Version) -> Version | None:
    """The version that took this one's place, or the one that took that one's place, to the end."""
    return Version.objects.filter(card=version.card_id, payer=version.payer_id, no__gt=version.no).order_by("-no").first()


def asked(card: Card) -> Contact | None:
    """Whom we ask first: the approver on the card, else the payer's contact, else the owner's or caller's."""
    people = {role.kind: role.contact for role in card.roles.select_related("contact") if role.contact}
    return next((people[kind] for kind in ("approver", "payer", "owner", "caller") if kind in people), None)


def of_card(card: Card) -> QuerySet[Version]:
    """All versions of a card, newest first, with what was answered."""
    return Version.objects.filter(card=card).select_related("go_ahead").order_by("-no")


def open_version(card: Card) -> Version | None:
    """The version that still waits for an answer (or whose day has passed without one)."""
    return Version.objects.filter(card=card, state=Version.State.OPEN).order_by("-no").first()


def answered_version(card: Card) -> Version | None:
    """The last version with a go-ahead."""
    return Version.objects.filter(card=card, state=Version.State.ANSWERED).select_related("go_ahead").order_by("-no").first()


def go_aheads(card: Card) -> QuerySet[GoAhead]:
    """Every answer on a card, oldest first. The last one's set_after and total_after_gross hold for the whole card."""
    return GoAhead.objects.filter(version__card=card).select_related("version", "paper").order_by("at", "pk")


def questions(version: Version) -> list[Question]:
    """What was asked about a version, in order."""
    return list(Question.objects.filter(version_line__version=version).select_related("version_line__line").order_by("asked_at", "pk"))


def unanswered(card: Card) -> list[Question]:
    """What still waits for our reply on a card, whatever became of the version it was asked about. One query."""
    asked_about = Question.objects.filter(version_line__version__card=card, reply="")
    return list(asked_about.select_related("version_line__line", "version_line__version").order_by("asked_at", "pk"))


def heard(version: Version, link: Link) -> list[Question]:
    """What this person asked about a version and about those before it, with our replies. One query."""
    theirs = Link.objects.filter(purpose="quote", for_whom=link.for_whom).values("subject_uid")
    same = Question.objects.filter(version_line__version__card=version.card_id, version_line__version__payer=version.payer_id)
    before = same.filter(version_line__version__uid__in=theirs, version_line__version__no__lte=version.no)
    return list(before.select_related("version_line__line").order_by("asked_at", "pk"))


def same_but_for_times(page: Body, other: Body) -> bool:
    """Whether two bodies offer the same to the same person: everything but their number and their moments."""

    def told(body: Body) -> Body:
        kept = {key: value for key, value in body.items() if key not in {"version", "sent_at", "expires_at", "request_uid"}}
        return {**kept, "pricing": {key: value for key, value in body["pricing"].items() if key != "on"}}

    return told(page) == told(other)


def unsafe(found: Mapping[str, str]) -> bool:
    """Whether a finding makes one ask if the vehicle may be driven: stop, or act on what brakes, steers or carries it."""
    if found["condition"] == "stop":
        return True
    return found["condition"] == "act" and any(
        word in found["place"].lower() for word in ("brake", "steering", "wheel", "tyre", "suspension")
    )


def photos(page: Body) -> dict[str, dict[str, Any]]:
    """Photo uid to what the version pinned of it. Only these are shown through its link."""
    lines = [*page["committed"]["lines"], *page["offered"]]
    return {photo["uid"]: photo for line in lines for finding in line["findings"] for photo in finding["photos"]}


def sheet(page: Body, answers: Mapping[int, str]) -> dict[str, Any]:
    """What the screen, the review and the paper show of a body beside a choice: the same words and figures for all three."""
    pricing = Pricing(page)
    choice = pricing.choice([number for number, said in answers.items() if said == ACCEPT])
    shown = {line.number: line for line in choice.lines}
    return {
        "page": page,
        "choice": choice,
        "lines": [{**line, "price": shown[line["number"]], "answer": answers.get(line["number"], "")} for line in page["offered"]],
        "numbers": {
            "accepted": [number for number, said in answers.items() if said == ACCEPT],
            "declined": [number for number, said in answers.items() if said == NOT_NOW],
            "silent": [line["number"] for line in page["offered"] if line["number"] not in answers],
        },
        "committed": _committed(page, pricing),
        "taxed": bool(page["pricing"].get("taxed", pricing.tax_rate)),
        "total": Decimal(page["total"]["gross"]),
        "sent_at": datetime.fromisoformat(page["sent_at"]),
        "expires_at": datetime.fromisoformat(page["expires_at"]),
        "due_at": datetime.fromisoformat(page["due_at"]) if page["due_at"] else None,
        "words_of": {wording["kind"]: wording["text"] for wording in page["wordings"]},
    }


def _committed(page: Body, pricing: Pricing) -> list[dict[str, Any]]:
    words = {f"line-{line['number']}": line for line in page["committed"]["lines"]}
    shown = pricing.committed()
    rows = [{**words[line.key], "gross": line.gross} for line in shown if line.kind == "operation"]
    opened = labour.shown_access(shown)
    return [*rows, {"number": None, "gross": opened}] if opened else rows
