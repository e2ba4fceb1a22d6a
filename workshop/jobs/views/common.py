"""What the views of a card share: who acts, what is found, the card itself with a sentence on top."""

import uuid as uuids
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from workshop.calc.labour import SetPrice
from workshop.history import queries as history
from workshop.jobs import actions, queries
from workshop.jobs.models import Card, Complaint, Episode, Line, Role
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")
LAST_TOLD = 5


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = queries.card(pk)
    if card is None:
        raise Http404
    return card


def found_line(uid: uuids.UUID) -> Line:
    """The line or a calm 404."""
    line = queries.line(uid)
    if line is None:
        raise Http404
    return line


def card_sheet(request: HttpRequest, pk: int, refused: str = "", status: int = 200, **typed: Any) -> HttpResponse:
    """The card, with the sentence of what was refused on top and what was typed."""
    sheet = queries.card_page(pk)
    if sheet is None:
        raise Http404
    context: dict[str, Any] = {"card": sheet, "refused": refused, "advice": actions.ADVICE, **typed}
    context |= {"people": _people(sheet), "told": history.of_card(pk, LAST_TOLD)}
    said = list(sheet.complaints.all())
    context |= {"said": said, "unended": [complaint for complaint in said if not complaint.outcome]}
    context |= {"outcomes": Complaint.Outcome.choices, "works": cast(User, request.user).role in WRITERS, **_work(sheet)}
    return render(request, "jobs/card.html", context, status=status)


CALLED = {Role.Kind.CALLER: "called", Role.Kind.APPROVER: "says yes", Role.Kind.OWNER: "owner", Role.Kind.PAYER: "pays"}


@dataclass
class Person:
    """Somebody who stands on a card, once, with everything they are."""

    name: str
    kinds: list[str] = field(default_factory=list)
    does: str = ""
    phone: str = ""
    limit_gross: Decimal | None = None

    @property
    def label(self) -> str:
        """Called, owner, pays."""
        return ", ".join(self.kinds).capitalize()


def _people(card: Card) -> list[Person]:
    """Who called, says yes, owns and pays; who is several of these stands there once."""
    roles = {role.kind: role for role in card.roles.all()}
    found: dict[str, Person] = {}
    for kind, called in CALLED.items():
        if role := roles.get(kind):
            contact = role.contact if kind in {Role.Kind.CALLER, Role.Kind.APPROVER} else None
            name = str(contact or role.party)
            person = found.setdefault(name, Person(name))
            person.kinds.append(called)
            if contact:
                person.does, person.phone = contact.role, contact.phone
            if kind == Role.Kind.APPROVER:
                person.limit_gross = role.limit_gross  # type: ignore[attr-defined]
    return list(found.values())


def _work(card: Card) -> dict[str, Any]:
    """Lines with their prices, and what is stopped. Without a rate the card says so instead of prices."""
    lines = list(card.lines.all())
    try:
        priced = queries.priced(card)
    except LookupError as unset:
        return {"lines": [(line, None, None) for line in lines], "unpriced": str(unset), **_ahead(card, lines)}
    rows = [(line, priced.nets[line.number], _stop_here(card, line)) for line in lines]
    limit = card.limit_gross
    above = limit is not None and max(priced.live.gross, priced.ordered.gross) > limit
    return {"lines": rows, "priced": priced, "above": above, **_ahead(card, lines)}


def _stop_here(card: Card, line: Line) -> SetPrice | None:
    """What is owed when a strip finds nothing to do; None for another line."""
    return queries.stop_here(card, [need.step for need in line.steps.all()]) if line.kind == Line.Kind.STRIP else None


def _ahead(card: Card, lines: list[Line]) -> dict[str, Any]:
    """What stops the card, and which step most people want next."""
    running = card.state == Card.State.OPEN
    ordered = [line for line in lines if line.answer == Line.Answer.ACCEPTED]
    worked = [line for line in ordered if line.kind != Line.Kind.FIRST_PRICE]
    undone = [line for line in worked if line.progress in {Line.Progress.PLANNED, Line.Progress.STARTED}]
    held = [hold for hold in card.held if hold.line is None or hold.line in ordered]  # type: ignore[attr-defined]
    drafts = any(line.answer == Line.Answer.DRAFT for line in lines)
    at_work = [line for line in lines if line.at_work]  # type: ignore[attr-defined]
    waits = [line for line in lines if line.waits and line in undone]  # type: ignore[attr-defined]
    gaping = [step for step in card.steps.all() if step.gaping]  # type: ignore[attr-defined]
    shown = {"at_work": at_work, "waits": waits, "gaping": gaping, "left_at": card.left_at}  # type: ignore[attr-defined]
    return {"running": running, "held": held, "undone": undone, "all_done": bool(worked) and not undone, "drafts": drafts, **shown}


def done(request: HttpRequest, pk: int, verb: Callable[[], object], said: str = "", **typed: Any) -> HttpResponse:
    """Does what the button says, says so, and shows the sheet the button stood on: the work sheet when the form says `on=work`,
    else the card. What is refused is a sentence on that sheet."""
    on_work = request.POST.get("on") == "work"
    try:
        verb()
    except actions.Refused as refused:
        return work_page(request, pk, str(refused), 409) if on_work else card_sheet(request, pk, str(refused), 409, **typed)
    if said:
        messages.success(request, said)
    return redirect("jobs:work" if on_work else "jobs:card", pk)


def work_page(request: HttpRequest, pk: int, refused: str = "", status: int = 200) -> HttpResponse:
    """The work sheet, with the sentence of what was refused on top."""
    sheet = queries.work_sheet(pk, cast(User, request.user))
    if sheet is None:
        raise Http404
    here = sheet.card.state in {Card.State.OPEN, Card.State.READY} and cast(User, request.user).role in WRITERS
    context: dict[str, Any] = {"sheet": sheet, "card": sheet.card, "refused": refused, "works": here and not sheet.card.left_at}  # type: ignore[attr-defined]
    return render(request, "jobs/work.html", {**context, "here": here, "causes": Episode.Cause.choices[1:]}, status=status)


def posted_uid(request: HttpRequest) -> uuids.UUID | None:
    """The number that the page made for what its button makes, or None when it lost it."""
    try:
        return uuids.UUID(request.POST.get("uid", ""))
    except ValueError:
        return None
