"""Issue an invoice."""

from collections.abc import Collection, Iterable, Iterator
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from workshop import clock
from workshop.calc import canonical
from workshop.company import queries as company
from workshop.customers.models import Party
from workshop.history.actions import Actor, record
from workshop.invoices.actions.bill import Bill, BillLine, draw_up
from workshop.invoices.actions.body import body_of
from workshop.invoices.actions.freeze import freeze, give_number, made_before, paper_after_commit, post, told
from workshop.invoices.actions.send import write_invoice_letter, write_link
from workshop.invoices.models import DocLine, DocTax, Document
from workshop.jobs.models import Card
from workshop.ledger.actions import PostingIn, Refused, WrongDay

SALES = {"work": ("labour", "parts"), "access": ("access_labour", "access_parts")}


@transaction.atomic
def issue_invoice(
    actor: Actor,
    card: Card,
    *,
    request_uid: UUID,
    issued_on: date | None = None,
    numbers: Collection[int] | None = None,
    email: str = "",
) -> Document:
    """What is accepted, done and not invoiced yet (of it, the lines in `numbers`) on one numbered paper that never changes, posted in
    the same transaction. The access that the lines need stands on the first invoice that needs it. Its page by link is made with it,
    and with a mail address the letter that leads there.

    The same request again returns the same document. Raises Conflict when it made another, Refused with the sentence to show: no lines,
    a line without go-ahead, more than was agreed; WrongDay for a date before the work or the last invoice, after today, in closed books."""
    card = Card.objects.select_for_update().select_related("vehicle").get(pk=card.pk)
    asked: dict[str, Any] = {"issued_on": issued_on, "numbers": None if numbers is None else sorted(set(numbers))}
    if email:  # the body stays for ever: it keeps that a letter was asked for, not to where
        asked["mailed"] = canonical.sha256(f"{request_uid} {email}")[:16]
    if made := made_before(request_uid, asked, card_id=card.pk):
        return made
    on = issued_on or clock.today()
    if on > clock.today():
        raise WrongDay(f"{on} has not come yet. An invoice is dated today or earlier.")
    bill = draw_up(card, on, numbers)
    if bill.refusals:
        raise Refused(" ".join(bill.refusals))
    if bill.day_refusal:
        raise WrongDay(bill.day_refusal)
    document = _issue(request_uid, card, bill, on, asked)
    link = write_link(document)
    if email:
        write_invoice_letter(document, link, email)
    record("invoice.issued", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=told(document))
    paper_after_commit(document)
    return document


def _issue(request_uid: UUID, card: Card, bill: Bill, on: date, asked: dict[str, Any]) -> Document:
    firm = company.company()
    assert bill.payer is not None
    body = body_of(firm, card, bill, give_number("invoice", on), on) | {"asked": asked}
    document = freeze(body, request_uid=request_uid, card=card, payer=bill.payer, total=bill.total)
    DocLine.objects.bulk_create(_doc_line(document, place, line) for place, line in enumerate(bill.lines, start=1))
    DocTax.objects.bulk_create(
        DocTax(document=document, tax_code=code.code, rate=code.rate, net_amount=code.net, tax_amount=code.tax) for code in bill.total.codes
    )
    post(document, f"Invoice, {bill.payer.name}", _invoice_postings(bill, bill.payer))
    return document


def _doc_line(document: Document, position: int, line: BillLine) -> DocLine:
    return DocLine(
        document=document,
        position=position,
        words=line.words[:200],
        go_ahead=line.go_ahead,
        line=line.line,
        step_id=line.step_id,
        line_kind=line.line_kind,
        minutes=line.minutes,
        labour_amount=line.labour_amount,
        parts_amount=line.parts_amount,
        amount=line.amount,
        tax_code=line.tax_code,
    )


def _invoice_postings(bill: Bill, payer: Party) -> list[PostingIn]:
    sales = [PostingIn("sales", -amount, kind, code, payer.kind, payer.uid) for (kind, code), amount in _sales(bill.lines).items()]
    taxes = [PostingIn("output_tax", -code.tax, "", code.code, payer.kind, payer.uid) for code in bill.total.codes]
    return [PostingIn("receivable", bill.total.gross, "", "", payer.kind, payer.uid), *sales, *taxes]


def _sales(lines: Iterable[BillLine]) -> dict[tuple[str, str], Decimal]:
    """What is sold by kind and tax code: labour and parts apart, work and access apart; an agreed price stays whole."""
    sums: dict[tuple[str, str], Decimal] = {}
    for line in lines:
        for kind, amount in _kinds(line):
            sums[kind, line.tax_code] = sums.get((kind, line.tax_code), Decimal(0)) + amount
    return sums


def _kinds(line: BillLine) -> Iterator[tuple[str, Decimal]]:
    if line.line_kind not in SALES:
        yield line.line_kind, line.amount
        return
    yield from zip(SALES[line.line_kind], (line.labour_amount, line.parts_amount), strict=True)
