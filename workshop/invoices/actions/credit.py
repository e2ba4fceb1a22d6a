"""Credit an invoice, whole or by line. Never more than is uncredited, on any line and any tax code."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from workshop import clock
from workshop.calc import money, tax
from workshop.calc.money import ZERO
from workshop.company import queries as company
from workshop.history.actions import Actor, record
from workshop.invoices import queries
from workshop.invoices.actions.freeze import freeze, give_number, made_before, paper_after_commit, post, told
from workshop.invoices.actions.issue import SALES
from workshop.invoices.actions.release import release, vehicle_of
from workshop.invoices.models import DocLine, DocTax, Document
from workshop.jobs.models import Card
from workshop.ledger import queries as ledger
from workshop.ledger.actions import PostingIn, Refused


@dataclass(frozen=True)
class Taken:
    """What is credited of one line: `amount` is labour and parts together, without tax. `minutes` only of a line that goes whole."""

    line: DocLine
    amount: Decimal
    labour_amount: Decimal
    parts_amount: Decimal
    minutes: int


class WrongAmount(Refused):
    """An amount to credit cannot be; `position` is its line."""

    def __init__(self, sentence: str, position: int) -> None:
        super().__init__(sentence)
        self.position = position


@transaction.atomic
def credit_invoice(
    actor: Actor, document: Document, *, reason: str, request_uid: UUID, amounts: Mapping[int, Decimal] | None = None
) -> Document:
    """A credit note dated today with the opposite entry. `amounts`: position of a line to what is credited of it without tax;
    None: everything that is not credited yet. A line that is credited whole may be invoiced anew.

    Money that was taken on it and is no longer owed becomes the customer's credit. The same request again returns the same note.
    Raises Conflict when it made another, WrongAmount for a line, Refused when nothing is left to credit, or without a reason."""
    if document.card_id:
        Card.objects.select_for_update().get(pk=document.card_id)
    document = Document.objects.select_for_update(of=("self",)).select_related("card", "payer").get(pk=document.pk)
    asked = {"reason": reason.strip(), "amounts": _asked(amounts)}
    if made := made_before(request_uid, asked, corrects_id=document.pk):
        return made
    if document.kind != Document.Kind.INVOICE:
        raise Refused("A credit note cannot be credited.")
    if not reason.strip():
        raise Refused("A credit note needs its reason; it is printed on it.")
    taken = list(_taken(document, amounts))
    credit = _credit(document, taken, reason.strip(), request_uid, asked)
    release(document, credit)
    about = {**told(credit), "corrects": document.number, "reason": reason.strip()}
    record("invoice.credited", actor, card_id=document.card_id, vehicle_id=vehicle_of(document), payload=about)
    paper_after_commit(credit)
    return credit


def _asked(amounts: Mapping[int, Decimal] | None) -> dict[str, Decimal] | None:
    return None if amounts is None else {str(position): amount for position, amount in sorted(amounts.items()) if amount}


def _taken(document: Document, amounts: Mapping[int, Decimal] | None) -> Iterator[Taken]:
    standing = {line.position: line for line in queries.standing_lines().filter(document=document)}
    if not standing:
        raise Refused(f"{document.number} is credited in full already. Nothing is left to credit.")
    wanted = amounts if amounts is not None else {place: left_of(line) for place, line in standing.items()}
    wanted = {place: amount for place, amount in wanted.items() if amount or amounts is None}
    if not wanted:
        raise Refused("No amount is written. Write what to credit beside at least one line.")
    for place, amount in sorted(wanted.items()):
        line = standing.get(place)
        left = left_of(line) if line else ZERO
        if line is None or amount > left:
            without = " without tax" if company.taxed() else ""
            raise WrongAmount(f"{left:,}{without} are left to credit on this line, not {amount:,}.", place)
        if amount < 0:
            raise WrongAmount("An amount to credit is above 0.00.", place)
        yield _part(line, amount)


def left_of(line: DocLine) -> Decimal:
    """What is not credited yet of a line of standing_lines, without tax."""
    left: Decimal = line.amount - (getattr(line, "taken_back", None) or ZERO)
    return left


def _part(line: DocLine, amount: Decimal) -> Taken:
    """Labour and parts as they stand in the line; what is credited after the last coin is exactly both."""
    before = line.amount - left_of(line)
    weights = (line.labour_amount, line.parts_amount)
    shares = [money.share(total, weights) if sum(weights) else (ZERO, ZERO) for total in (before, before + amount)]
    labour, parts = (after - sooner for sooner, after in zip(*shares, strict=True))
    return Taken(line, amount, labour, parts, line.minutes if amount == line.amount else 0)


def _credit(document: Document, taken: list[Taken], reason: str, request_uid: UUID, asked: dict[str, Any]) -> Document:
    on = clock.today()
    codes = list(_codes(document, taken))
    total = tax.Taxed(*(sum((getattr(code, name) for code in codes), ZERO) for name in ("net", "tax", "gross")))
    body = queries.body(document) | {
        "kind": "credit",
        "issued_on": on,
        "tax_point_on": document.tax_point_on,
        "due_on": on,
        "reason": reason,
        "asked": asked,
        "corrects": {"number": document.number, "issued_on": document.issued_on},
        "whole": total.gross == document.gross_amount,
        "lines": list(_lines(document, taken)),
        "minutes": sum(part.minutes for part in taken),
        "taxes": [{**_named(document, code), "net": code.net, "tax": code.tax} for code in codes],
        "net": total.net,
        "tax": total.tax,
        "gross": total.gross,
    }
    body["number"] = give_number("credit", on)
    credit = freeze(body, request_uid=request_uid, card=document.card, payer=document.payer, total=total, corrects=document)
    DocLine.objects.bulk_create(_row(credit, place, part) for place, part in enumerate(taken, start=1))
    DocTax.objects.bulk_create(
        DocTax(document=credit, tax_code=code.code, rate=code.rate, net_amount=code.net, tax_amount=code.tax) for code in codes
    )
    whole = ledger.of_source(document.uid).get() if total.gross == document.gross_amount else None
    post(credit, f"Credit to {document.number}, {document.payer.name}", _postings(document, taken, codes, total), reverses=whole)
    return credit


def _lines(document: Document, taken: list[Taken]) -> Iterator[dict[str, Any]]:
    """The lines as they were sent, with what is credited of them."""
    sent = {line["position"]: line for line in queries.body(document)["lines"]}
    for place, part in enumerate(taken, start=1):
        amounts = {"amount": part.amount, "labour_amount": part.labour_amount, "parts_amount": part.parts_amount}
        yield {**sent[part.line.position], "position": place, "minutes": part.minutes, **amounts}


def _codes(document: Document, taken: list[Taken]) -> Iterator[tax.CodeTotal]:
    """The tax of each code: what all credits so far and this one carry, less what those before did; the last takes what is left."""
    nets: dict[str, Decimal] = {}
    for part in taken:
        nets[part.line.tax_code] = nets.get(part.line.tax_code, ZERO) + part.amount
    for row in document.taxes.order_by("pk"):
        if row.tax_code not in nets:
            continue
        net, before = nets[row.tax_code], _credited(document, row.tax_code)
        left = row.tax_amount - before.tax
        its_tax = left if before.net + net == row.net_amount else min(tax.next_part(before, net, row.rate).tax, left)
        yield tax.CodeTotal(net, its_tax, net + its_tax, row.tax_code, row.rate)


def _credited(document: Document, code: str) -> tax.Taxed:
    rows = DocTax.objects.filter(document__corrects=document, tax_code=code)
    net, its_tax = sum((row.net_amount for row in rows), ZERO), sum((row.tax_amount for row in rows), ZERO)
    return tax.Taxed(net, its_tax, net + its_tax)


def _named(document: Document, code: tax.CodeTotal) -> dict[str, Any]:
    sent: dict[str, Any] = next(each for each in queries.body(document)["taxes"] if each["code"] == code.code)
    return sent


def _row(credit: Document, place: int, part: Taken) -> DocLine:
    line = part.line
    return DocLine(
        document=credit,
        position=place,
        words=line.words,
        go_ahead_id=line.go_ahead_id,
        line_id=line.line_id,
        step_id=line.step_id,
        line_kind=line.line_kind,
        minutes=part.minutes,
        labour_amount=part.labour_amount,
        parts_amount=part.parts_amount,
        amount=part.amount,
        tax_code=line.tax_code,
        corrects=line,
    )


def _postings(document: Document, taken: list[Taken], codes: list[tax.CodeTotal], total: tax.Taxed) -> list[PostingIn]:
    payer, sales = document.payer, dict[tuple[str, str], Decimal]()
    for part in taken:
        line_kind = part.line.line_kind
        split = [(line_kind, part.amount)]
        if line_kind in SALES:
            split = [*zip(SALES[line_kind], (part.labour_amount, part.parts_amount), strict=True)]
        for name, amount in split:
            sales[name, part.line.tax_code] = sales.get((name, part.line.tax_code), ZERO) + amount
    kind, uid = payer.kind, payer.uid
    return [
        PostingIn("receivable", -total.gross, "", "", kind, uid),
        *(PostingIn("sales", amount, name, code, kind, uid) for (name, code), amount in sales.items()),
        *(PostingIn("output_tax", code.tax, "", code.code, kind, uid) for code in codes),
    ]
