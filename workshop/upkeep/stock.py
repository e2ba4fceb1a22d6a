"""A business of a chosen size, for counting: the card has that many lines, findings and notes, the lists that many rows."""

import datetime as dt
import uuid
from dataclasses import dataclass
from decimal import Decimal

from workshop import clock
from workshop.calc import canonical
from workshop.company import actions as company
from workshop.company.models import Company
from workshop.files.actions import store
from workshop.history.actions import Actor
from workshop.inspections.models import Finding, FindingLine, FindingPhoto
from workshop.invoices import actions as invoices
from workshop.invoices.models import Document
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, Complaint, Line, Note
from workshop.ledger.models import Entry, Posting
from workshop.links import queries as links
from workshop.links.models import Link
from workshop.photos.models import Photo
from workshop.quotes import actions as quotes
from workshop.quotes.models import Version
from workshop.specifications import actions as specifications
from workshop.worksheets import actions as worksheets

ACTOR = Actor.system("bench")
CUSTOMER = {"kind": "firm", "name": "Churnholt Valley Dairy Co-operative", "phone": "+999 555 010 123"}
VEHICLE = {"make": "Tolvar", "model": "Hodbearer 35", "plate": "VM 00 DEMO-1"}


@dataclass(frozen=True)
class Stock:
    """What the pages are opened for."""

    card: Card
    finding: Finding
    line: Line
    document: Document
    version: Version
    photo: Photo
    joint_pk: int
    token: str


def fill(rows: int) -> Stock:
    """The whole of it. `rows` lines on one card, `rows` further cards, documents and entries."""
    if not Company.objects.exists():
        company.set_up(ACTOR, name="Quillfeather Mobile Diesel", address="4 Lantern Yard", phone="1", tax_profile_name="vellmark")
        company.set_rate(ACTOR, "workshop", dt.date(2020, 1, 1), Decimal("78.00"))
    card = jobs.take_enquiry(ACTOR, customer=CUSTOMER, vehicle=VEHICLE, words="Races on the climb", due_at=clock.now())
    step = jobs.add_step(ACTOR, card, words="Undertray off", open_minutes=8, close_minutes=8)
    document = _invoiced(card)
    photo = _photo()
    finding = _findings(card, photo, rows)
    line = jobs.add_line(ACTOR, card, kind="failed", words="Rear seal", own_minutes=30, steps=[step])
    joint_pk = _joint(line)
    _lines(card, rows)
    FindingLine.objects.create(finding=finding, line=line)
    Note.objects.bulk_create(Note(card=card, words="Keys", by="Pip", written_at=clock.now(), received_at=clock.now()) for _ in range(rows))
    version = quotes.send_version(ACTOR, card, for_whom="Ilse Brackwater", expires_at=clock.now() + dt.timedelta(days=7))
    _cards(card, rows)
    _documents(document, rows)
    link = Link.objects.get(subject_uid=version.uid)
    return Stock(card, finding, line, document, version, photo, joint_pk, links.token_of(link))


def _invoiced(card: Card) -> Document:
    """One agreed and invoiced line, so that there is a document."""
    jobs.add_line(ACTOR, card, kind="first_price", words="Call-out", fixed_amount=Decimal("137.63"))
    version = quotes.send_version(ACTOR, card, for_whom="Ilse Brackwater")
    quotes.answer(version, answers={1: "accept"}, name="Ilse Brackwater", standing="authorised", request_uid=uuid.uuid4(), actor=ACTOR)
    return invoices.issue_invoice(ACTOR, card, request_uid=uuid.uuid4())


def _photo() -> Photo:
    blob = store(b"bench", "image/jpeg")
    return Photo.objects.create(full=blob, small=blob, width=4, height=3, received_at=clock.now())


def _findings(card: Card, photo: Photo, rows: int) -> Finding:
    made = Finding.objects.bulk_create(
        Finding(card=card, place="engine, rear", words=f"Seal {n}", condition="act", by="Ada", found_at=clock.now()) for n in range(rows)
    )
    FindingPhoto.objects.bulk_create(FindingPhoto(finding=finding, photo=photo) for finding in made)
    return made[0]


def _lines(card: Card, rows: int) -> None:
    first = (card.lines.order_by("-number").values_list("number", flat=True).first() or 0) + 1
    Line.objects.bulk_create(
        Line(card=card, number=first + n, kind="due", words=f"Line {n}", own_minutes=12, plain_words="Plain.") for n in range(rows - 1)
    )


def _joint(line: Line) -> int:
    source = {"kind": "K1", "title": "A manual", "edition": "2021", "page": "1"}
    stages = [{"seat": "45", "unit": "N·m"}]
    value = specifications.add_value(ACTOR, source=source, component="Bolt", number=Decimal(45), unit="N·m", stages=stages)
    return worksheets.add_joint(ACTOR, line, component="Bolt", fasteners=4, value=value).pk


def _cards(card: Card, rows: int) -> None:
    made = Card.objects.bulk_create(Card(vehicle=card.vehicle, due_at=clock.now(), opened_at=clock.now()) for _ in range(rows))
    Complaint.objects.bulk_create(Complaint(card=one, words="Knocks") for one in made)


def _documents(document: Document, rows: int) -> None:
    text = canonical.dumps({})
    common = {"kind": "invoice", "payer": document.payer, "issued_on": document.issued_on, "tax_point_on": document.issued_on}
    amounts = {
        "net_amount": Decimal(1),
        "tax_amount": Decimal(0),
        "gross_amount": Decimal(1),
        "body": text,
        "sha256": canonical.sha256(text),
    }
    start = Document.objects.count()
    Document.objects.bulk_create(
        Document(request_uid=uuid.uuid4(), number=f"B{start + n}", due_on=document.due_on, issued_at=clock.now(), **common, **amounts)
        for n in range(rows)
    )
    entries = Entry.objects.bulk_create(
        Entry(source_uid=uuid.uuid4(), source_kind="invoice", reference=f"B{start + n}", dated_on=document.issued_on,
              tax_point_on=document.issued_on, entered_at=clock.now(), words="bench") for n in range(rows)
    )  # fmt: skip
    Posting.objects.bulk_create(
        Posting(entry=entry, position=position, role=role, amount=amount)
        for entry in entries for position, (role, amount) in enumerate([("receivable", Decimal(1)), ("sales", Decimal(-1))])
    )  # fmt: skip
