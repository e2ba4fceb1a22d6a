"""How a quote speaks to the customer: words for kinds, answers and advice, and a line's sentence about the total."""

import datetime as dt
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import template
from django.forms import BaseForm, BoundField
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from workshop.inspections.models import Finding, FindingPhoto
from workshop.jobs.models import Card
from workshop.pages.templatetags import pages_format
from workshop.photos.models import Photo
from workshop.quotes.queries import Access, Choice, ShownLine, unsafe

register = template.Library()
type Words = str | Promise

KINDS: dict[str, Words] = {
    "failed": _("has failed"),
    "due": _("due"),
    "wanted": _("wanted by you"),
    "required": _("needed by another line"),
    "first_price": _("agreed before work begins"),
    "strip": _("opening up to look"),
}
DRIVE: dict[str, tuple[str, Words]] = {
    "do_not": ("stop", _("Do not drive.")),
    "gently": ("watch", _("Gently, to home.")),
    "safe": ("good", _("May be driven.")),
}
STANDINGS: dict[str, Words] = {"owner": _("the owner"), "authorised": _("authorised by the owner")}
CHANNELS: dict[str, Words] = {"link": _("by the link"), "phoned": _("on the telephone"), "on our device": _("on our device")}
COMPARED: dict[str, Words] = {"was": _("as it was"), "should": _("as it should be"), "after": _("after the work")}
PROGRESS: dict[str, Words] = {
    "ordered": _("Ordered. Work has not begun."),
    "begun": _("Work has begun."),
    "waiting": _("Waiting for a part. We go on when it is here."),
    "ready": _("Ready."),
    "handed_over": _("Handed over."),
}
STATES: dict[str, Words] = {
    "open": _("open"),
    "answered": _("answered"),
    "replaced": _("replaced"),
    "expired": _("expired"),
    "revoked": _("taken back"),
}


@register.simple_tag
def kind_words(kind: str) -> Words:
    """A line's kind in the customer's words."""
    return KINDS.get(kind, kind)


@register.simple_tag
def standing(which: str) -> Words:
    """The owner, or authorised by the owner."""
    return STANDINGS.get(which, which)


@register.simple_tag
def channel(which: str) -> Words:
    """How the answer reached us."""
    return CHANNELS.get(which, which)


@register.simple_tag
def progress_words(which: str) -> Words:
    """Where the work is."""
    return PROGRESS[which]


@register.simple_tag
def compared(photo: Mapping[str, Any]) -> Words:
    """What a frozen photo stands for in a comparison; empty for none, and in a body from before it was kept."""
    return COMPARED.get(photo.get("role", ""), "")


@register.simple_tag
def ringed(photo: Mapping[str, Any]) -> FindingPhoto:
    """A frozen photo as the pages of findings draw its ring. A body from before the ring was kept has none."""
    x, y = photo.get("mark") or (None, None)
    return FindingPhoto(photo=Photo(width=photo["width"], height=photo["height"]), mark_x=x, mark_y=y)


@register.simple_tag
def state_words(which: str) -> Words:
    """How a version stands."""
    return STATES.get(which, which)


@register.inclusion_tag("pages/_mark.html", takes_context=True)
def drive(context: template.Context, advice: Mapping[str, str]) -> dict[str, Any]:
    """May it be driven: shape, the verdict in words, then why."""
    mark, words = DRIVE.get(advice["advice"], ("unseen", advice["advice"]))
    why = advice["words"]
    return pages_format.mark(context, mark, "lg", why if why.startswith(str(words)) else f"{words} {why}".strip())


@register.simple_tag
def undriven(card: Card, findings: Iterable[Finding]) -> list[Finding]:
    """The findings that make one ask whether it may be driven, while nobody has said. No query."""
    if card.drive_advice or card.state in {Card.State.CLOSED, Card.State.CANCELLED}:
        return []
    return [finding for finding in findings if unsafe({"condition": finding.condition, "place": finding.place})]


@register.filter
def at(mapping: Mapping[str, Any], key: str) -> Any:
    """mapping[key]."""
    return mapping[key]


@register.filter
def listed(numbers: Iterable[int]) -> str:
    """1, 2."""
    return ", ".join(map(str, numbers))


@register.filter
def plussed(numbers: Iterable[int]) -> str:
    """1+2, or 1–4 for a longer run, as it stands in the dashed box."""
    row = list(numbers)
    if len(row) <= 2:
        return "+".join(map(str, row)) or "–"
    return f"{row[0]}–{row[-1]}" if row == list(range(row[0], row[-1] + 1)) else f"{row[0]}…{row[-1]}"


@register.filter
def box(form: BaseForm, number: int) -> BoundField:
    """The form's box for a line."""
    return form[f"line{number}"]


@register.filter
def rate_percent(fraction: str) -> str:
    """0.2200 as 22 %."""
    return pages_format.percent(Decimal(fraction) * 100)


@register.filter
def paper_moment(moment: dt.datetime) -> str:
    """2026-11-25 10:12, where the business is."""
    return timezone.localtime(moment).strftime("%Y-%m-%d %H:%M")


@register.filter
def utc(moment: dt.datetime) -> str:
    """2026-11-25 09:12:07, in UTC."""
    return moment.astimezone(dt.UTC).strftime("%Y-%m-%d %H:%M:%S")


@register.filter
def as_moment(text: str) -> dt.datetime:
    """A moment out of a frozen body."""
    return dt.datetime.fromisoformat(text)


@register.filter
def fingerprint(sha256: str) -> str:
    """64 hex digits in groups of four, as one reads them out."""
    return " ".join(sha256[start : start + 4] for start in range(0, len(sha256), 4))


@register.inclusion_tag("quotes/_change.html")
def change(price: ShownLine, choice: Choice, access: Access | None) -> dict[str, Any]:
    """What turning this line's answer round does to the total, in words."""
    shares = access is not None and price.number in access.possible
    return {"price": price, "choice": choice, "shares": shares}


@register.filter
def short(number: str) -> Decimal:
    """0.900 as 0.9: the places the table pads are not places that were measured."""
    exact = Decimal(number)
    return exact.quantize(Decimal(1)) if exact == exact.to_integral_value() else exact.normalize()
