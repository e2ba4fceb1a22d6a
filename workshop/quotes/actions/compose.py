"""Gather everything a version shows into one body. The preview and the sent page come from here."""

import json
from collections.abc import Collection, Iterable
from datetime import datetime, time, timedelta
from typing import Any

from django.utils import timezone

from workshop import clock
from workshop.calc import canonical
from workshop.calc.money import ZERO
from workshop.company import queries as company
from workshop.company.models import Company, Wording
from workshop.customers.models import Party
from workshop.inspections.models import Finding
from workshop.inspections.queries import side_by_side
from workshop.jobs.actions import UNNAMED
from workshop.jobs.models import Card, CardStep, Line, Role
from workshop.quotes import queries
from workshop.quotes.queries import Body, Refused

FORM = "hardstand quote 1"
WORDINGS = ("go_ahead", "next", "terms", "cancellation")
CLOSING_HOUR = time(18, 0)
MAY_BE_OFFERED = {Line.Answer.DRAFT, Line.Answer.OFFERED, Line.Answer.NOT_NOW, Line.Answer.EXPIRED}


def compose(
    card: Card, *, for_whom: str, numbers: Collection[int] | None = None, expires_at: datetime | None = None, draft: bool = False
) -> Body:
    """The body of the next version: all that the page shows, and all that its prices need. Changes nothing.

    `numbers`: the lines to offer; None means all that wait for an answer. A `draft` is only looked at: it may hold a line at 0.00.
    Raises Refused with a sentence.
    """
    firm, moment = company.company(), clock.now()
    expires_at = expires_at or default_expiry(firm, moment)
    offered = _offered(card, numbers)
    carried, before = _carried(card)
    offered_lines = [line_as_sent(line) for line in offered]
    if not draft:
        _refuse_unnamed(offered)
        _refuse_unpriced(offered)
    page: Body = {
        "form": FORM,
        "business": _business(firm),
        "card": card.number or "",
        "version": 1 + card.versions.count(),
        "for_whom": for_whom,
        "sent_at": moment,
        "expires_at": expires_at,
        "vehicle": _vehicle(card),
        "wrong": _wrong(card),
        "drive": {"advice": card.drive_advice, "words": card.drive_words},
        "due_at": card.due_at,
        "pricing": _same_pricing(offered, before["pricing"]) if before else _pricing(offered, firm),
        "committed": {"lines": carried},
        "offered": offered_lines,
        "steps": _steps(card, before["steps"] if before else [], [*carried, *offered_lines]),
        "wordings": _wordings(moment),
    }
    return _with_totals(page)


def default_expiry(firm: Company, moment: datetime) -> datetime:
    """The business's number of days from now, at six in the evening where the business is."""
    on = timezone.localdate(moment) + timedelta(days=firm.quote_days)
    return datetime.combine(on, CLOSING_HOUR, tzinfo=timezone.get_current_timezone())


def payer_of(card: Card) -> Party:
    """Who pays: the payer named on the card, else its owner, else who called. Raises Refused when nobody is named."""
    roles = {role.kind: role.party for role in card.roles.select_related("party")}
    for kind in (Role.Kind.PAYER, Role.Kind.OWNER, Role.Kind.CALLER):
        if kind in roles:
            return roles[kind]
    raise Refused("Nobody is named on this card who could pay. Name the payer first.")


def _offered(card: Card, numbers: Collection[int] | None) -> list[Line]:
    lines = list(card.lines.prefetch_related("parts", "steps__step", "findings__finding__photos__photo"))
    if numbers is None:
        chosen = [line for line in lines if line.answer in MAY_BE_OFFERED - {Line.Answer.NOT_NOW}]
    else:
        chosen = [line for line in lines if line.number in set(numbers)]
        if missing := sorted(set(numbers) - {line.number for line in chosen}):
            raise Refused(f"There is no line {', '.join(map(str, missing))} on this card.")
    for line in chosen:
        if line.answer not in MAY_BE_OFFERED:
            raise Refused(f"Line {line.number} is {line.get_answer_display()} and cannot be offered again.")
    if not chosen:
        raise Refused("No line waits for an answer. Add a line, or tick one to offer.")
    return chosen


def unpriced(line: Line) -> bool:
    """Whether the line costs 0.00 by itself and nobody fixed it there with a reason. A strip is priced by the steps it opens."""
    if line.fixed_amount is not None:
        return line.fixed_amount == 0 and not line.fixed_reason
    opens = line.kind == Line.Kind.STRIP and bool(line.steps.all())
    return not opens and not line.own_minutes and not sum((part.amount for part in line.parts.all()), ZERO)


def _refuse_unnamed(lines: list[Line]) -> None:
    if numbers := ", ".join(str(line.number) for line in lines if line.words.endswith(f": {UNNAMED}")):
        raise Refused(f"Line {numbers} has no name yet. Write for the customer what is done.")


def _refuse_unpriced(lines: list[Line]) -> None:
    if numbers := ", ".join(str(line.number) for line in lines if unpriced(line)):
        raise Refused(f"No price yet on line {numbers}. Write its minutes or parts, or fix it at 0.00 with the reason.")


def line_as_sent(line: Line) -> dict[str, Any]:
    """A line as it is frozen. A fixed price stands in place of the minutes and parts."""
    parts = list(line.parts.all())
    fixed = line.fixed_amount is not None
    total = line.fixed_amount if line.fixed_amount is not None else sum((part.amount for part in parts), ZERO)
    return {
        "number": line.number,
        "uid": line.uid,
        "kind": line.kind,
        "words": line.words,
        "plain_words": line.plain_words,
        "if_left": line.if_left,
        "own_minutes": 0 if fixed else line.own_minutes,
        "parts_amount": total,
        "fixed": fixed,
        "parts": [{"words": part.words, "part_number": part.part_number, "quantity": part.quantity} for part in parts],
        "needs": sorted(f"step-{need.step.position}" for need in line.steps.all()),
        "findings": [finding_as_sent(found.finding) for found in line.findings.all()],
    }


def finding_as_sent(finding: Finding) -> dict[str, Any]:
    """A finding as it is frozen, its photos by the hash of their bytes: as it was, as it should be, after, then the others."""
    return {
        "place": finding.place,
        "words": finding.words,
        "condition": finding.condition,
        "measured": finding.measured,
        "unit": finding.unit,
        "limit_words": finding.limit_words,
        "limit_source": finding.limit_source,
        "photos": [
            {
                "uid": shown.photo.uid,
                "full": shown.photo.full_id,
                "small": shown.photo.small_id,
                "width": shown.photo.width,
                "height": shown.photo.height,
                "taken_at": shown.photo.taken_at,
                "caption": shown.caption,
                "role": shown.role,
                "mark": shown.mark,
            }
            for shown in side_by_side(finding.photos.all())
        ],
    }


def _carried(card: Card) -> tuple[list[dict[str, Any]], Body | None]:
    """The lines already ordered, as they were sent then, and the body they come from."""
    last = queries.answered_version(card)
    if last is None or not last.go_ahead.set_after:
        return [], None
    before = queries.body(last)
    ordered = set(card.lines.filter(answer=Line.Answer.ACCEPTED).values_list("number", flat=True)) & set(last.go_ahead.set_after)
    lines = [line for line in [*before["committed"]["lines"], *before["offered"]] if line["number"] in ordered]
    return lines, before if lines else None


def _steps(card: Card, frozen: list[dict[str, Any]], lines: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """The steps that the lines need, prerequisites with them. A step frozen before is never taken from the card again."""
    kept = {step["key"]: step for step in frozen}
    for step in card.steps.prefetch_related("needs__needs"):
        kept.setdefault(f"step-{step.position}", _step(step))
    needed: set[str] = set()
    waiting = [key for line in lines for key in line["needs"]]
    while waiting:
        key = waiting.pop()
        if key not in needed:
            needed.add(key)
            waiting.extend(kept[key]["needs"])
    return [step for key, step in sorted(kept.items(), key=lambda item: item[1]["position"]) if key in needed]


def _step(step: CardStep) -> dict[str, Any]:
    return {
        "key": f"step-{step.position}",
        "position": step.position,
        "words": step.words,
        "open_minutes": step.open_minutes,
        "close_minutes": step.close_minutes,
        "needs": sorted(f"step-{need.needs.position}" for need in step.needs.all()),
        "material_words": step.material_words,
        "material_amount": step.material_amount,
    }


def _same_pricing(lines: list[Line], pricing: dict[str, Any]) -> dict[str, Any]:
    """The rate and the tax under which the rest was ordered, which all that comes after it shares (A15).

    Raises Refused for a line of another hourly rate (unless it has neither minutes nor access), or of another tax code."""
    for line in lines:
        worked = line.fixed_amount is None and (line.own_minutes or line.steps.all())
        if line.tax_code != pricing["tax_code"]:
            other = f"tax code {line.tax_code}, what is ordered on this card has {pricing['tax_code']}"
        elif worked and line.rate_class != pricing["rate_class"]:
            other = f"the hourly rate for {line.rate_class}, what is ordered on this card has that for {pricing['rate_class']}"
        else:
            continue
        raise Refused(f"Line {line.number} has {other}. One quote has one of each: offer line {line.number} on a card of its own.")
    return pricing


def _pricing(lines: list[Line], firm: Company) -> dict[str, Any]:
    classes, codes, on = {line.rate_class for line in lines}, {line.tax_code for line in lines}, clock.today()
    if len(classes) > 1 or len(codes) > 1:
        raise Refused("One quote has one hourly rate and one tax code. Offer the others in a quote of their own.")
    rate_class, code = classes.pop(), codes.pop()
    try:
        rate, tax_rate = company.rate_on(rate_class, on), company.tax_rate_on(code, on)
    except LookupError as missing:
        raise Refused(str(missing)) from missing
    return {
        "rate_class": rate_class,
        "rate_per_hour": rate,
        "tax_code": code,
        "tax_rate": tax_rate,
        "tax_profile": firm.tax_profile,
        "taxed": company.taxed(),
        "basis": "exclusive",
        "on": on,
    }


def _business(firm: Company) -> dict[str, Any]:
    kept = ("name", "address", "phone", "email", "licence_line", "currency", "tax_number", "paper_foot")
    return {name: getattr(firm, name) for name in kept}


def _vehicle(card: Card) -> dict[str, Any]:
    """The plate's last four characters: enough to know it by, not enough for a stranger."""
    return {"make": card.vehicle.make, "model": card.vehicle.model, "plate_ending": card.vehicle.plate[-4:]}


def _wrong(card: Card) -> dict[str, Any]:
    urgency = {Finding.Condition.STOP: 0, Finding.Condition.ACT: 1, Finding.Condition.WATCH: 2}
    found = [finding for finding in Finding.objects.filter(card=card).order_by("found_at", "pk") if finding.condition in urgency]
    found.sort(key=lambda finding: urgency[Finding.Condition(finding.condition)])
    return {
        "said": list(card.complaints.order_by("pk").values_list("words", flat=True)),
        "found": [{"place": finding.place, "words": finding.words, "condition": finding.condition} for finding in found],
    }


def _wordings(moment: datetime) -> list[dict[str, Any]]:
    newest: dict[str, Wording] = {}
    for wording in Wording.objects.filter(kind__in=WORDINGS, from_at__lte=moment).order_by("no"):
        newest[wording.kind] = wording
    return [{"kind": kind, "no": newest[kind].no, "text": newest[kind].text} for kind in WORDINGS if kind in newest]


def _with_totals(page: Body) -> Body:
    """The body as it will be read back: what is previewed is what is sent."""
    pricing = queries.Pricing(page)
    for line in page["offered"]:
        line["stop_here"] = pricing.stop_here(line["number"]) if line["kind"] == Line.Kind.STRIP else None
    everything = pricing.choice([line["number"] for line in page["offered"]])
    page["total"] = {"net": everything.net, "tax": everything.tax, "gross": everything.gross, "after_gross": everything.after_gross}
    page["committed"]["total_gross"] = everything.committed_gross
    return json.loads(canonical.dumps(page))  # type: ignore[no-any-return]
