"""Runs inside a process of its own, in a place of its own: each race is two or more threads that start at one instant."""

import datetime as dt
import json
import sys
import threading
import uuid
from collections.abc import Callable
from decimal import Decimal
from unittest.mock import patch

from django.db import connection

from tests.invoices import making
from workshop import clock
from workshop.company import actions as company
from workshop.invoices import actions as invoices
from workshop.invoices import queries as invoice_queries
from workshop.invoices.models import Document, Payment
from workshop.quotes import actions as quotes
from workshop.quotes.models import GoAhead, Version
from workshop.upkeep import verify

ADA, ROUNDS = making.ADA, 4
type Deed = Callable[[], object]
type Told = list[list[str]]


def at_once(*deeds: Deed) -> Told:
    """What became of each: done with what it gave, refused with its sentence, or a fault."""
    barrier, told = threading.Barrier(len(deeds)), [["", ""] for _ in deeds]

    def run(place: int, deed: Deed) -> None:
        connection.ensure_connection()
        barrier.wait()
        try:
            told[place] = ["done", str(deed())]
        except (quotes.Refused, invoices.Refused) as refusal:
            told[place] = ["refused", str(refusal)]
        except Exception as fault:
            told[place] = ["fault", repr(fault)]
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(place, deed)) for place, deed in enumerate(deeds)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)
    return told


def offered() -> Version:
    card = making.card_of()
    making.belt_and_pump(card)
    return quotes.send_version(ADA, card, for_whom="Osgood Plumtree")


def answering(version: Version, *, request_uid: uuid.UUID | None = None, **answers: str) -> Deed:
    said = {1: answers.get("one", "accept"), 2: answers.get("two", "accept")}
    number = request_uid or uuid.uuid4()
    return lambda: quotes.answer(version, answers=said, name="Osgood", standing="owner", request_uid=number, actor=ADA)


def issued() -> Document:
    return invoices.issue_invoice(ADA, making.ready_card(), request_uid=uuid.uuid4())


def paying(document: Document, amount: str = "1028.09", **more: object) -> Deed:
    about = {"method": "bank", "amount": Decimal(amount), "paid_on": clock.today(), "request_uid": uuid.uuid4(), **more}
    return lambda: invoices.take_payment(ADA, document, **about)


def answer_against_answer() -> Told:
    version = offered()
    told = at_once(answering(version), answering(version, two="not-now"))
    return [*told, ["kept", str(GoAhead.objects.filter(version=version).count())]]


def the_same_answer_twice() -> Told:
    version, number = offered(), uuid.uuid4()
    told = at_once(*[answering(version, request_uid=number) for _ in range(3)])
    return [*told, ["kept", str(GoAhead.objects.filter(version=version).count())]]


def answer_against_a_new_version() -> Told:
    version = offered()
    told = at_once(answering(version), lambda: quotes.send_version(ADA, version.card, for_whom="Osgood Plumtree"))
    version.refresh_from_db()
    return [*told, ["kept", f"{version.state} {GoAhead.objects.filter(version=version).count()} {version.card.versions.count()}"]]


def one_page_sends_once() -> Told:
    card, number = making.card_of(), uuid.uuid4()
    making.belt_and_pump(card)
    told = at_once(*[lambda: quotes.send_version(ADA, card, for_whom="Osgood", request_uid=number) for _ in range(3)])
    return [*told, ["kept", str(card.versions.count())]]


def issue_against_issue() -> Told:
    card = making.ready_card()
    told = at_once(*[lambda: invoices.issue_invoice(ADA, card, request_uid=uuid.uuid4()).number for _ in range(2)])
    return [*told, ["kept", str(card.documents.count())]]


def many_issue_at_once() -> Told:
    cards = [making.ready_card() for _ in range(4)]
    return at_once(*[lambda card=card: invoices.issue_invoice(ADA, card, request_uid=uuid.uuid4()).number for card in cards])


def payment_against_payment() -> Told:
    document = issued()
    told = at_once(paying(document), paying(document, method="cash"))
    return [*told, ["kept", str(Payment.objects.filter(allocations__document=document).count())]]


def payment_against_credit_note() -> Told:
    document = issued()
    told = at_once(paying(document), lambda: invoices.credit_invoice(ADA, document, reason="why", request_uid=uuid.uuid4()))
    free = sum(invoice_queries.free_money(document.payer).values(), Decimal(0))
    return [*told, ["kept", f"{invoice_queries.open_amount(document)} {free}"]]


def credit_used_against_credit_given_back() -> Told:
    document, other = issued(), issued()
    paying(document, "1128.09", keep_rest=True)()
    type(other.payer).objects.filter(pk=other.payer_id).update(merged_into=document.payer)
    about = {"method": "bank", "amount": Decimal("100.00"), "paid_on": clock.today()}
    told = at_once(
        lambda: invoices.use_credit(ADA, document.payer, [other], request_uid=uuid.uuid4()),
        lambda: invoices.give_back(ADA, document.payer, request_uid=uuid.uuid4(), **about),
    )
    return [*told, ["kept", str(sum(invoice_queries.free_money(document.payer).values(), Decimal(0)))]]


RACES = (
    answer_against_answer,
    the_same_answer_twice,
    answer_against_a_new_version,
    one_page_sends_once,
    issue_against_issue,
    many_issue_at_once,
    payment_against_payment,
    payment_against_credit_note,
    credit_used_against_credit_given_back,
)


def run(out: str) -> None:
    """All races, some rounds each, then everything added up again; told as JSON."""
    company.set_up(ADA, name="Quillfeather Mobile Diesel", address="4 Lantern Yard", phone="1", tax_profile_name="vellmark")
    company.set_rate(ADA, "workshop", dt.date(2020, 1, 1), Decimal("78.00"))
    with patch("workshop.pages.paper.draw", lambda text, *_: f"not drawn: {text}".encode()):
        told = {race.__name__: [race() for _ in range(ROUNDS)] for race in RACES}
    numbers = sorted(Document.objects.filter(kind="invoice").values_list("number", flat=True))
    with open(out, "w", encoding="utf-8") as file:
        json.dump({"races": told, "numbers": numbers, "problems": list(verify.problems())}, file)


if __name__ == "__main__":
    run(sys.argv[1])
