"""A credit note takes the whole invoice back, once."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from tests.invoices import making
from workshop.invoices import actions, queries
from workshop.invoices.models import Document
from workshop.ledger import queries as ledger
from workshop.ledger.models import Posting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
ADA = making.ADA


@pytest.fixture
def document():
    return actions.issue_invoice(ADA, making.ready_card(), request_uid=uuid.uuid4())


def credit(document, **more):
    return actions.credit_invoice(ADA, document, **{"reason": "Sent to the wrong address", "request_uid": uuid.uuid4(), **more})


def test_invoice_and_credit_are_nothing_per_role_and_code(document):
    note = credit(document)
    assert (note.kind, note.gross_amount, note.corrects) == ("credit", Decimal("1028.09"), document)
    sums = {}
    for posting in Posting.objects.all():
        key = posting.role, posting.line_kind, posting.tax_code
        sums[key] = sums.get(key, 0) + posting.amount
    assert set(sums.values()) == {0}
    assert ledger.of_source(note.uid).get().reverses == ledger.of_source(document.uid).get()


def test_nothing_is_open_on_either(document):
    credit(document)
    assert {each.kind: (each.state, queries.open_amount(each)) for each in queries.listed()} == {
        "invoice": ("credited", 0),
        "credit": ("credit note", 0),
    }
    assert list(queries.problems()) == []


def test_its_lines_can_be_invoiced_anew(document):
    credit(document)
    again = actions.issue_invoice(ADA, document.card, request_uid=uuid.uuid4())
    assert again.gross_amount == document.gross_amount
    assert list(queries.problems()) == []


def test_never_more_than_is_uncredited(document):
    credit(document)
    with pytest.raises(actions.Refused, match="credited in full already"):
        credit(document)
    assert Document.objects.count() == 2


def test_the_same_request_is_one_credit_note(document):
    request = uuid.uuid4()
    assert credit(document, request_uid=request) == credit(document, request_uid=request)


def test_without_a_reason_it_is_refused(document):
    with pytest.raises(actions.Refused, match="reason"):
        credit(document, reason=" ")


def test_money_on_it_stands_in_the_way(document):
    actions.take_payment(ADA, document, method="cash", amount=Decimal("1.00"), paid_on=dt.date(2026, 11, 25), request_uid=uuid.uuid4())
    with pytest.raises(actions.Refused, match="Money was taken"):
        credit(document)


def test_a_credit_note_is_not_credited_and_not_paid(document):
    note = credit(document)
    with pytest.raises(actions.Refused, match="cannot be credited"):
        credit(note)
    with pytest.raises(actions.Refused, match="not on a credit note"):
        actions.take_payment(ADA, note, method="cash", amount=Decimal("1.00"), paid_on=dt.date(2026, 11, 25), request_uid=uuid.uuid4())
