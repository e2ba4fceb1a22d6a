"""Read documents, what is open on them, and whether they still say what they said."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Exists, ExpressionWrapper, F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from workshop import clock
from workshop.calc import canonical
from workshop.calc.money import ZERO
from workshop.customers.models import Contact, Party
from workshop.invoices.models import Allocation, DocLine, DocTax, Document, Payment
from workshop.ledger import queries as ledger
from workshop.ledger.models import Entry, Posting
from workshop.links import queries as links
from workshop.links.models import Link
from workshop.pages.fields import MoneyField
from workshop.quotes.models import Version

Body = dict[str, Any]
BY_LINK = "invoice"  # the purpose of a link that shows one


def body(document: Document) -> Body:
    """What stands on the paper; amounts are texts with their places, days are ISO 8601."""
    return json.loads(document.body)  # type: ignore[no-any-return]


def taxed(body: Body) -> bool:
    """Whether a document has words of tax: the business was registered when it was issued."""
    return bool(body.get("taxed", any(Decimal(code["rate"]) for code in body["taxes"])))


def same_party(party: Party) -> QuerySet[Party]:
    """A party and every entry that was merged into it."""
    return Party.objects.filter(Q(pk=party.pk) | Q(merged_into=party))


def standing_lines() -> QuerySet[DocLine]:
    """Lines of invoices that were not credited whole, each with `taken_back`: what was credited of it without tax, None for nothing."""
    credited = DocLine.objects.filter(corrects=OuterRef("pk")).order_by().values("corrects").annotate(total=Sum("amount")).values("total")
    lines: Any = DocLine.objects.filter(document__kind=Document.Kind.INVOICE).annotate(
        taken_back=Subquery(credited, output_field=MoneyField())
    )
    found: QuerySet[DocLine] = lines.filter(Q(taken_back=None) | Q(taken_back__lt=F("amount")))
    return found


def _sum(rows: QuerySet[Any], by: str, column: str) -> Coalesce:
    total = rows.filter(**{by: OuterRef("pk")}).order_by().values(by).annotate(total=Sum(column)).values("total")
    return Coalesce(Subquery(total, output_field=MoneyField()), 0, output_field=MoneyField())


def documents() -> QuerySet[Document]:
    """All documents, newest first, each with paid_amount, credited_amount and open_amount."""
    counted = Document.objects.annotate(
        paid_amount=_sum(Allocation.objects.all(), "document", "amount"),
        credited_amount=_sum(Document.objects.filter(kind=Document.Kind.CREDIT), "corrects", "gross_amount"),
    )
    left = F("gross_amount") - F("paid_amount") - F("credited_amount")  # a bare difference would come back as a number of coins
    return (
        counted.annotate(left_amount=ExpressionWrapper(left, output_field=MoneyField()))
        .select_related("payer", "card", "corrects")
        .order_by("-issued_on", "-pk")
    )


def owed() -> QuerySet[Document]:
    """Invoices with something open, the longest due first; as documents()."""
    rows: Any = documents()  # left_amount is an annotation
    found: QuerySet[Document] = rows.filter(left_amount__gt=0, kind=Document.Kind.INVOICE).order_by("due_on", "pk")
    return found


def document(uid: UUID) -> Document:
    """A document with its amounts, lines and payments. Raises Document.DoesNotExist."""
    found = documents().prefetch_related("lines__go_ahead__version", "taxes", "allocations__payment", "credits")
    return found.get(uid=uid)


def link_of(document: Document) -> Link | None:
    """The newest living link to an invoice."""
    return _living().filter(subject_uid=document.uid).first()


def _living() -> QuerySet[Link]:
    return Link.objects.filter(purpose=BY_LINK, revoked_at=None, expires_at__gt=clock.now()).order_by("-pk")


def of_version(version: Version) -> list[Document]:
    """The invoices with a line that a version’s go-ahead allows and a living link, each with `state` and `token`. One query."""
    lines = DocLine.objects.filter(document=OuterRef("pk"), go_ahead__version=version)
    rows: Any = documents().filter(Exists(lines), kind=Document.Kind.INVOICE).order_by("pk")
    found = listed_of(rows.annotate(link_uid=Subquery(_living().filter(subject_uid=OuterRef("uid")).values("uid")[:1])))
    for each in found:
        each.token = links.token_of(Link(uid=each.link_uid)) if each.link_uid else ""  # type: ignore[attr-defined]
    return [each for each in found if each.token]  # type: ignore[attr-defined]


def open_amount(document: Document) -> Decimal:
    """What is still to be paid on an invoice: gross less payments less credits. A credit note has nothing to be paid."""
    if document.kind == Document.Kind.CREDIT:
        return ZERO
    paid = Allocation.objects.filter(document=document).aggregate(total=Sum("amount"))["total"] or ZERO
    credited = Document.objects.filter(corrects=document).aggregate(total=Sum("gross_amount"))["total"] or ZERO
    return document.gross_amount - paid - credited


def free_money(party: Party) -> dict[Payment, Decimal]:
    """Payments of a payer that are not used up, the oldest first, with what is left of each: together the payer's credit."""
    return {row: row.free for row in _free().filter(party__in=same_party(party)).order_by("paid_on", "pk")}


def _free() -> Any:
    """Payments that are not used up, each with `free`, what is left of it."""
    taken = Payment.objects.filter(direction=Payment.Direction.IN)
    left = F("amount") + F("rounding_amount") - F("used")
    used = taken.annotate(used=_sum(Allocation.objects.all(), "payment", "amount"))
    return used.annotate(free=ExpressionWrapper(left, output_field=MoneyField())).filter(free__gt=0)


# Days past due, up to and with; common practice, no source.
AGES = ((0, "not due yet"), (30, "1 to 30 days"), (60, "31 to 60 days"), (90, "61 to 90 days"), (None, "over 90 days"))


@dataclass
class Owing:
    """A payer with what is open, by days past due in the order of AGES, since when something is due, and the credit it holds."""

    payer: Party
    ages: list[Decimal]
    left: Decimal = ZERO
    due_on: date | None = None
    credit: Decimal = ZERO
    invoices: int = 0


def age(due_on: date, on: date) -> int:
    """The place in AGES of something due on a day, seen on another."""
    late = (on - due_on).days
    return next(place for place, (most, _) in enumerate(AGES) if most is None or late <= most)


def owing(on: date) -> list[Owing]:
    """Who owes what since when, the longest due first, then who only holds credit. Entries that were merged are one payer. Two queries."""
    found: dict[int, Owing] = {}

    def of(party: Party) -> Owing:
        kept = party.merged_into or party
        return found.setdefault(kept.pk, Owing(kept, [ZERO] * len(AGES)))

    rows: Any = owed().select_related("payer__merged_into")
    for each in rows:
        row = of(each.payer)
        row.ages[age(each.due_on, on)] += each.left_amount
        row.left, row.invoices = row.left + each.left_amount, row.invoices + 1
        row.due_on = min(row.due_on or each.due_on, each.due_on)
    for payment in _free().select_related("party__merged_into"):
        of(payment.party).credit += payment.free
    return sorted(found.values(), key=lambda row: (row.due_on or date.max, row.payer.name))


def payer(uid: UUID) -> Party | None:
    """A payer by its uid; of an entry that was merged, the one that was kept."""
    party = Party.objects.select_related("merged_into").filter(uid=uid).first()
    return party.merged_into or party if party else None


def open_of(party: Party) -> list[Document]:
    """The invoices of a payer with something open, the longest due first, each with its `state`."""
    return listed_of(owed().filter(payer__in=same_party(party)))


def mail_of(party: Party) -> str:
    """Where a letter to a payer goes; empty when no mail address is on file."""
    known = Contact.objects.filter(party__in=same_party(party)).exclude(email="").order_by("pk")
    return known.values_list("email", flat=True).first() or ""


def reached_at(party: Party) -> dict[str, str]:
    """The telephone and mail address on file for a payer, empty where there is none. One query."""
    known = list(Contact.objects.filter(party__in=same_party(party)).order_by("pk"))
    return {name: next((getattr(each, name) for each in known if getattr(each, name)), "") for name in ("phone", "email")}


@dataclass(frozen=True)
class Statement:
    """A payer's account over a span: what stood before, each entry with its amount and what stood after it, what stands at the end."""

    payer: Party
    from_on: date
    to_on: date
    before: Decimal
    rows: tuple[tuple[Entry, Decimal, Decimal], ...]
    after: Decimal


def statement(party: Party, from_on: date, to_on: date) -> Statement:
    """From the books: owed is above zero, credit below. What only moves between the two (credit used, money released) changes nothing
    and is left out. Three queries."""
    uids = [*same_party(party).values_list("uid", flat=True)]
    theirs = Posting.objects.filter(role__in=("receivable", "customer_credit"), party_uid__in=uids)
    before = theirs.filter(entry__dated_on__lt=from_on).aggregate(total=Sum("amount"))["total"] or ZERO
    sums = _sum(theirs, "entry", "amount")
    entries: Any = Entry.objects.filter(dated_on__range=(from_on, to_on)).annotate(moved=sums).exclude(moved=0).order_by("dated_on", "pk")
    rows, stands = [], before
    for entry in entries:
        stands += entry.moved
        rows.append((entry, entry.moved, stands))
    return Statement(party, from_on, to_on, before, tuple(rows), stands)


def state(document: Document) -> str:
    """open, part paid, paid, overdue, credited, or credit note. The document comes from documents()."""
    if document.kind == Document.Kind.CREDIT:
        return "credit note"
    paid, credited, left = (getattr(document, f"{name}_amount") for name in ("paid", "credited", "left"))
    if not left:
        return "credited" if credited == document.gross_amount else "paid"
    if document.due_on < clock.today():
        return "overdue"
    return "part paid" if paid else "open"


def listed() -> list[Document]:
    """All documents, newest first, each with its `state`; in a constant number of queries."""
    return listed_of(documents())


def unpaid(most: int) -> list[Document]:
    """The invoices with something left to pay, the longest due first, each with its `state`."""
    return listed_of(owed()[:most])


def of_card(card_id: int) -> list[Document]:
    """The documents of a card, oldest first, each with its `state`."""
    return listed_of(documents().filter(card_id=card_id).order_by("pk"))


def listed_of(rows: Iterable[Document]) -> list[Document]:
    """These rows of documents() with their `state`."""
    found = list(rows)
    for each in found:
        each.state = state(each)  # type: ignore[attr-defined]
    return found


def problems() -> Iterator[str]:
    """Every document that is not what it was when issued, or whose lines, tax and postings do not add up to it, as a sentence."""
    rows: Any = documents()
    for each in rows.iterator(chunk_size=500):
        if canonical.sha256(each.body) != each.sha256:
            yield f"{each.number} says something else than when it was issued."
        if (told := body(each))["gross"] != f"{each.gross_amount:f}" or told["number"] != each.number:
            yield f"{each.number}: its row and its paper do not say the same."
        if each.left_amount < 0 and each.kind == Document.Kind.INVOICE:
            yield f"{each.number} has more paid and credited than its total."
    yield from _unequal(DocLine.objects.all(), "document", "amount", "net_amount", "lines")
    yield from _unequal(DocTax.objects.all(), "document", "tax_amount", "tax_amount", "tax rows")
    yield from _unposted()
    yield from _overspent()
    yield from _untied()


def _overspent() -> Iterator[str]:
    """More taken out of a payment than it holds, or an invoice line credited beyond itself."""
    rows: Any = Payment.objects.annotate(used=_sum(Allocation.objects.all(), "payment", "amount"))
    for each in rows.order_by("pk").iterator(chunk_size=500):
        if each.used > each.amount + each.rounding_amount or (each.direction == Payment.Direction.OUT and each.used):
            yield f"Payment {each.uid} over {each.amount} is used for {each.used}."
    backs: Any = Payment.objects.filter(direction=Payment.Direction.OUT)
    for each in backs.annotate(taken=_sum(Allocation.objects.all(), "refund", "amount")).exclude(taken=F("amount")).order_by("pk"):
        yield f"{each.amount} were given back, {each.taken} were taken out of payments for it."
    lines: Any = DocLine.objects.filter(document__kind=Document.Kind.INVOICE)
    credited = lines.annotate(back=_sum(DocLine.objects.all(), "corrects", "amount")).filter(back__gt=F("amount"))
    for each in credited.select_related("document").order_by("pk"):
        yield f"{each.back} are credited on {each.document.number}, {each.words}, which is over {each.amount}."


def _untied() -> Iterator[str]:
    """What the lists say is owed and held as credit is what the books say."""
    rows: Any = documents().filter(kind=Document.Kind.INVOICE).order_by()
    open_in_all = rows.aggregate(total=Sum("left_amount"))["total"] or ZERO
    if open_in_all != (booked := ledger.balance("receivable")):
        yield f"{open_in_all} are open on invoices, the books say {booked}."
    taken = Payment.objects.filter(direction=Payment.Direction.IN).aggregate(all=Sum("amount"), cash=Sum("rounding_amount"))
    used = Allocation.objects.aggregate(all=Sum("amount"))["all"] or ZERO
    free = (taken["all"] or ZERO) + (taken["cash"] or ZERO) - used
    if free != -(held := ledger.balance("customer_credit")):
        yield f"Customers have a credit of {free}, the books say {-held}."


def _unequal(rows: QuerySet[Any], by: str, column: str, against: str, what: str) -> Iterator[str]:
    for each in Document.objects.annotate(summed=_sum(rows, by, column)).exclude(summed=F(against)).order_by("pk"):
        yield f"The {what} of {each.number} sum to {each.summed}, its paper says {getattr(each, against)}."


def _unposted() -> Iterator[str]:
    receivable = Posting.objects.filter(role="receivable").values("entry__source_uid").annotate(total=Sum("amount"))
    posted = {row["entry__source_uid"]: row["total"] for row in receivable}
    for each in Document.objects.order_by("pk").iterator(chunk_size=500):
        sign = -1 if each.kind == Document.Kind.CREDIT else 1
        if posted.get(each.uid) != sign * each.gross_amount:
            yield f"{each.number} is over {each.gross_amount}, the books say {posted.get(each.uid, 'nothing')}."
