"""What happened at Quillfeather Mobile Diesel. Everything goes through the rooms' own verbs."""

import datetime as dt
import uuid
from contextlib import suppress
from decimal import Decimal
from typing import Any

from django.conf import settings

from workshop import clock
from workshop.book import actions as book
from workshop.bookkeeping import actions as bookkeeping
from workshop.history.actions import Actor
from workshop.inspections import actions as inspections
from workshop.inspections.models import Finding
from workshop.invoices import actions as invoices
from workshop.invoices.models import Document
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, CardStep, Line
from workshop.ledger import actions as ledger
from workshop.links.models import Link
from workshop.photos import actions as photos
from workshop.quotes import actions as quotes
from workshop.quotes import queries as quote_queries
from workshop.quotes.models import GoAhead, Version
from workshop.scheduling import actions as scheduling
from workshop.specifications import actions as specifications
from workshop.staff.models import User
from workshop.vehicles import actions as vehicles
from workshop.vehicles.models import Vehicle
from workshop.worksheets import actions as worksheets

Told = dict[str, Any]
HANDED_OVER_DAYS = 60  # the sheets of older jobs were paper


def actor(username: str) -> Actor:
    """A person of the demo, acting."""
    return Actor.of(User.objects.get(username=username))


def picture(name: str) -> bytes:
    """One of the drawn pictures."""
    return (settings.BASE_DIR / f"fixtures/pictures/{name}.jpg").read_bytes()


def at(day: dt.date, hour: int, minute: int = 0) -> dt.datetime:
    """A moment of that day where the business is."""
    return dt.datetime.combine(day, dt.time(hour, minute), tzinfo=dt.UTC)


def enquiry(told: Told, who: Told, by: Actor, due_at: dt.datetime, **more: Any) -> Card:
    """A card for a known vehicle, or for a new customer with a new one."""
    known = Vehicle.objects.filter(plate=who["vehicle"]["plate"]).first()
    customer: Any = known.owners.order_by("-from_on").select_related("party").first().party if known else who["customer"]  # type: ignore[union-attr]
    return jobs.take_enquiry(
        by, customer=customer, vehicle=known or who["vehicle"], words=told["words"], place=who["place"], due_at=due_at, **more
    )


def site(by: Actor, card: Card, ground: str, people: str = "") -> None:
    """The place is looked at and good to work on."""
    inspections.check_site(by, card, ground=ground, chocked=True, stands=True, people=people, verdict="work")


def add_steps(by: Actor, card: Card, told: list[Told]) -> dict[str, CardStep]:
    """Access steps by their key in the fixture."""
    made: dict[str, CardStep] = {}
    for written in told:
        row = dict(written, material_amount=Decimal(written["material_amount"]), needs=[made[key] for key in written["needs"]])
        key = row.pop("key")
        made[key] = jobs.add_step(by, card, **row)
    return made


def add_findings(by: Actor, card: Card, told: list[Told]) -> dict[str, Finding]:
    """Findings by their key, linked to their causes."""
    made: dict[str, Finding] = {}
    for row in [dict(written) for written in told]:
        key, cause, shown = row.pop("key"), row.pop("cause", None), row.pop("picture", None)
        measured = Decimal(row.pop("measured")) if "measured" in row else None
        made[key] = inspections.add_finding(by, card, measured=measured, photos=[picture(shown)] if shown else [], **row)
        if cause:
            inspections.link_cause(by, made[key], made[cause], "sure")
    return made


def add_lines(by: Actor, card: Card, told: list[Told], steps: dict[str, CardStep], findings: dict[str, Finding]) -> list[Line]:
    """Lines of work, from their finding where there is one."""
    made = []
    for written in told:
        row = dict(written, steps=[steps[key] for key in written["steps"]])
        row["parts"] = [jobs.PartIn(words, Decimal(amount), Decimal(cost)) for words, amount, cost in row["parts"]]
        finding = row.pop("finding", None)
        made.append(inspections.line_from_finding(by, findings[finding], **row) if finding else jobs.add_line(by, card, **row))
    return made


def offered(version: Version) -> list[int]:
    """The numbers of the lines that wait for an answer."""
    return [line["number"] for line in quote_queries.body(version)["offered"]]


def accept(version: Version, name: str, standing: str = "owner") -> GoAhead:
    """Every line accepted by the link."""
    link = Link.objects.get(purpose="quote", subject_uid=version.uid)
    answers = dict.fromkeys(offered(version), "accept")
    by = Actor.by_link(link.uid, name)
    return quotes.answer(version, answers=answers, name=name, standing=standing, request_uid=uuid.uuid4(), actor=by, browser="demo")


def accept_by_phone(by: Actor, version: Version, name: str, number: str) -> GoAhead:
    """Every line accepted on the telephone."""
    answers = dict.fromkeys(offered(version), "accept")
    return quotes.record_phoned(by, version, answers=answers, name=name, number_dialled=number, read_out=True, request_uid=uuid.uuid4())


def finish(by: Actor, card: Card) -> None:
    """All accepted lines started and done."""
    for line in card.lines.filter(answer=Line.Answer.ACCEPTED, progress=Line.Progress.PLANNED):
        jobs.start_line(by, line)
        jobs.finish_line(by, line)


def finished_jobs(told: list[Told], customers: Told, today: dt.date) -> None:
    """Fourteen months of small jobs, oldest first, so that numbers and dates run the same way."""
    payments: list[tuple[dt.date, Document, str]] = []
    kept: set[str] = set()
    for row in sorted(told, key=lambda row: -row["days_ago"]):
        day = today - dt.timedelta(days=row["days_ago"])
        _pay(payments, before=day)
        document = _finished(row, customers[row["customer"]], day, kept)
        if row["paid_after_days"] is not None:
            payments.append((day + dt.timedelta(days=row["paid_after_days"]), document, row["method"]))
    _pay(payments, before=today)


def _keep_for_next_time(by: Actor, card: Card, kept: set[str]) -> None:
    """Each kind of work is kept in the catalogue the first time that it was done."""
    for line in card.lines.order_by("number"):
        if line.words not in kept:
            kept.add(line.words)
            jobs.save_operation(by, line, consumables="brake cleaner, rags", fits=str(card.vehicle))


def _finished(row: Told, who: Told, day: dt.date, kept: set[str]) -> Any:
    ada = actor("ada")
    with clock.frozen(at(day, 7)):
        card = enquiry(row, who, ada, at(day, 9))
        site(ada, card, "firm and level")
        finding = inspections.add_finding(ada, card, **row["finding"])
        for line in row["lines"]:
            parts = [jobs.PartIn(line["words"].lower(), Decimal(line["parts_amount"]))]
            inspections.line_from_finding(
                ada, finding, kind=line["kind"], words=line["words"], own_minutes=line["own_minutes"], parts=parts
            )
    with clock.frozen(at(day, 9, 40)):
        contact = who["customer"].get("contact_name", who["customer"]["name"])
        accept(quotes.send_version(ada, card, for_whom=contact), contact, "owner" if who["customer"]["kind"] == "private" else "authorised")
    with clock.frozen(at(day, 14)):
        finish(ada, card)
        card = jobs.mark_ready(ada, card)
        _keep_for_next_time(ada, card, kept)
        if row["days_ago"] < HANDED_OVER_DAYS:
            book.hand_over(ada, card, who["customer"]["name"], keys_back=True)
        document = invoices.issue_invoice(ada, card, request_uid=uuid.uuid4())
        jobs.close_card(ada, card)
    return document


def _pay(payments: list[tuple[dt.date, Any, str]], before: dt.date) -> None:
    """What has been paid by then, in the order of the days."""
    for due in sorted((p for p in payments if p[0] <= before), key=lambda p: p[0]):
        day, document, method = due
        with clock.frozen(at(day, 17)):
            amount = document.gross_amount
            invoices.take_payment(actor("nell"), document, method=method, amount=amount, paid_on=day, request_uid=uuid.uuid4())
        payments.remove(due)


def dairy(told: Told, who: Told) -> Card:
    """The milk truck: agreed by phone, opened, quoted, accepted, under way."""
    ada, now = actor("ada"), clock.now()
    with clock.frozen(now - dt.timedelta(hours=27)):
        caller = {"name": "Tobin Marrow", "phone": "+999 555 010 124", "role": "driver"}
        card = enquiry(told, who, ada, now - dt.timedelta(hours=2), caller=caller, moves="rolls")
        scheduling.plan_stop(ada, card, at=now - dt.timedelta(hours=2), minutes=240, km_each_way=34, minutes_each_way=41)
        for words, amount in told["first_price"]:
            jobs.add_line(ada, card, kind="first_price", words=words, fixed_amount=Decimal(amount))
        accept_by_phone(ada, quotes.send_version(ada, card, for_whom="Ilse Brackwater"), "Ilse Brackwater", who["customer"]["phone"])
    with clock.frozen(now - dt.timedelta(hours=25)):
        site(ada, card, "concrete yard, slopes to the west", "two dogs, shut in")
        vehicles.read_meter(ada, card.vehicle, "km", Decimal(92400), card_id=card.pk)
        vehicles.read_meter(ada, card.vehicle, "h", Decimal(2140), card_id=card.pk)
        jobs.set_advice(ada, card, told["advice"], told["advice_words"])
        steps = add_steps(ada, card, told["steps"])
        lines = add_lines(ada, card, told["lines"], steps, add_findings(ada, card, told["findings"]))
        _joint(ada, told["joint"], lines)
        version = quotes.send_version(ada, card, for_whom="Ilse Brackwater", email=who["customer"]["email"])
    with clock.frozen(now - dt.timedelta(hours=22)):
        accept(version, "Ilse Brackwater", "authorised")
    _under_way(card, now)
    return card


def _joint(by: Actor, told: Told, lines: list[Line]) -> None:
    line = next(line for line in lines if line.words == told["line"])
    value = specifications.add_value(
        by, source=told["source"], component=told["component"], number=Decimal(told["number"]), unit=told["unit"],
        stages=told["stages"], lubrication=told["lubrication"],
    )  # fmt: skip
    worksheets.add_joint(by, line, component=told["component"], fasteners=told["fasteners"], value=value)


def _under_way(card: Card, now: dt.datetime) -> None:
    """Pip fitted the breather heater, closed the intake again, and is at the tank-pump mount with the tray off."""
    pip, person = actor("pip"), User.objects.get(username="pip")
    first, second = card.lines.filter(kind="failed").order_by("number")[:2]
    steps = {step.words: step for step in card.steps.all()}
    with clock.frozen(now - dt.timedelta(hours=2)):
        jobs.start_spell(pip, first, person)
        opened = jobs.open_step(pip, steps["Intake pipe off"], bags="1")
    with clock.frozen(now - dt.timedelta(hours=1, minutes=20)):
        jobs.begin_closing(pip, opened, photos.take(picture("breather")))
        jobs.end_closing(pip, opened)
        jobs.finish_line(pip, first)
    with clock.frozen(now - dt.timedelta(hours=1, minutes=15)):
        jobs.start_spell(pip, second, person)
        jobs.open_step(pip, steps["Undertray off"], bags="2, 3")
        jobs.add_note(pip, card, "Keys hang in the milk office. Spare seal is in the van, left drawer.")


def months_closed(today: dt.date) -> None:
    """Every month that has ended is exported and closed, oldest first, as the bookkeeper would."""
    bram, first = actor("bram"), (today - dt.timedelta(days=430)).replace(day=1)
    while first < today.replace(day=1):
        after = (first + dt.timedelta(days=32)).replace(day=1)
        last = after - dt.timedelta(days=1)
        with suppress(bookkeeping.Refused):  # nothing was posted in it
            bookkeeping.write_batch(bram, first, last)
        ledger.close_books(bram, last, "month looked through")
        first = after


def camper(told: Told, who: Told) -> Card:
    """The camper on the gravel: looked at, quoted, waiting for Osgood's go-ahead."""
    ada, now = actor("ada"), clock.now()
    with clock.frozen(now - dt.timedelta(hours=3)):
        card = enquiry(told, who, ada, now + dt.timedelta(hours=20), moves="drives")
        scheduling.plan_stop(ada, card, at=now + dt.timedelta(hours=20), minutes=180, km_each_way=22, minutes_each_way=28)
        site(ada, card, "gravel, level boards under the stands", "one terrier")
        vehicles.read_meter(ada, card.vehicle, "km", Decimal(48600), card_id=card.pk)
        jobs.set_advice(ada, card, told["advice"], told["advice_words"])
        steps = add_steps(ada, card, told["steps"])
        add_lines(ada, card, told["lines"], steps, add_findings(ada, card, told["findings"]))
    quotes.send_version(ada, card, for_whom=who["customer"]["name"], email=who["customer"]["email"])
    return card
