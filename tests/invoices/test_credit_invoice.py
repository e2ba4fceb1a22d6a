"""A credit note takes the whole invoice back, once."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.invoices import making
from workshop.history.models import Event
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


def pay(document, amount, **more):
    about = {"method": "bank", "amount": Decimal(amount), "paid_on": dt.date(2026, 11, 25), "request_uid": uuid.uuid4()}
    return actions.take_payment(ADA, document, **{**about, **more})


def test_money_on_it_becomes_credit_of_the_customer(document):
    first, second = pay(document, "400.00"), pay(document, "628.09", method="cash")
    credit(document, amounts={1: Decimal("100.00")})
    assert queries.open_amount(document) == 0
    assert queries.free_money(document.payer) == {second: Decimal("122.00")}
    assert ledger.balance("customer_credit", document.payer.uid) == Decimal("-122.00")
    credit(document)
    assert queries.free_money(document.payer) == {first: Decimal("400.00"), second: Decimal("628.09")}
    assert ledger.balance("receivable") == 0
    assert list(queries.problems()) == []


def test_by_line_and_then_the_rest_is_nothing_per_role_kind_and_code(document):
    notes = [
        credit(document, amounts={1: Decimal("10.01"), 3: Decimal("31.20")}),
        credit(document, amounts={1: Decimal("0.01"), 2: Decimal("197.40")}),
        credit(document),
    ]
    assert [note.gross_amount for note in notes] == [Decimal("50.28"), Decimal("240.84"), Decimal("736.97")]
    assert sum(note.tax_amount for note in notes) == document.tax_amount
    sums = {}
    for posting in Posting.objects.all():
        key = posting.role, posting.line_kind, posting.tax_code
        sums[key] = sums.get(key, 0) + posting.amount
    assert set(sums.values()) == {0}
    assert list(queries.problems()) == []
    assert [line.labour_amount + line.parts_amount == line.amount for line in notes[0].lines.all()] == [True, True]


def test_only_a_line_that_went_whole_can_be_invoiced_anew(document):
    credit(document, amounts={1: Decimal("237.40"), 2: Decimal("0.50")})
    again = actions.issue_invoice(ADA, document.card, request_uid=uuid.uuid4())
    assert [line.words for line in again.lines.all()] == ["Timing belt kit"]
    assert list(queries.problems()) == []


@pytest.mark.parametrize(
    ("amounts", "said"),
    [
        ({1: "237.41"}, "237.40 without tax are left to credit on this line, not 237.41."),
        ({99: "1.00"}, "0.00 without tax are left"),
        ({1: "-1.00"}, "is above 0.00"),
        ({}, "No amount is written."),
        ({1: "0.00"}, "No amount is written."),
    ],
)
def test_by_line_refused(document, amounts, said):
    with pytest.raises(actions.Refused, match=said):
        credit(document, amounts={place: Decimal(amount) for place, amount in amounts.items()})
    assert Document.objects.count() == 1


def test_never_more_than_is_left_of_a_line(document):
    credit(document, amounts={1: Decimal("237.39")})
    with pytest.raises(actions.Refused, match=r"0\.01 without tax are left"):
        credit(document, amounts={1: Decimal("0.02")})
    credit(document, amounts={1: Decimal("0.01")})


def test_the_same_number_with_other_content_is_a_conflict(document):
    about = {"request_uid": uuid.uuid4(), "amounts": {1: Decimal("10.00")}}
    first = credit(document, **about)
    assert credit(document, **about) == first
    for other in ({"amounts": {1: Decimal("11.00")}}, {"amounts": None}, {"reason": "Another"}):
        with pytest.raises(actions.Conflict, match="made C26-0001 already"):
            credit(document, **{**about, **other})
    assert Document.objects.count() == 2


def test_its_line_of_history_names_the_vehicle(document):
    credit(document)
    event = Event.objects.latest("seq")
    assert (event.kind, event.card_id, event.vehicle_id) == ("invoice.credited", document.card_id, document.card.vehicle_id)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.dictionaries(st.integers(1, 7), st.integers(1, 20000), min_size=1), max_size=4))
def test_whatever_is_credited_in_parts_the_rest_brings_it_to_nothing(document, steps):
    with transaction.atomic():
        for step in steps:
            left = {line.position: actions.left_of(line) for line in queries.standing_lines().filter(document=document)}
            amounts = {place: min(Decimal(coins).scaleb(-2), left.get(place, 0)) for place, coins in step.items()}
            if any(amounts.values()):
                note = credit(document, amounts=amounts)
                assert abs(note.tax_amount - note.net_amount * Decimal("0.22")) <= Decimal("0.01")
        if queries.standing_lines().filter(document=document).exists():
            credit(document)
        notes = Document.objects.filter(corrects=document)
        assert sum(note.tax_amount for note in notes) == document.tax_amount
        assert sum(note.gross_amount for note in notes) == document.gross_amount
        assert ledger.balance("receivable") == ledger.balance("sales") == ledger.balance("output_tax") == 0
        assert list(queries.problems()) == []
        transaction.set_rollback(True)


def test_a_credit_note_is_not_credited_and_not_paid(document):
    note = credit(document)
    with pytest.raises(actions.Refused, match="cannot be credited"):
        credit(note)
    with pytest.raises(actions.Refused, match="not on a credit note"):
        actions.take_payment(ADA, note, method="cash", amount=Decimal("1.00"), paid_on=dt.date(2026, 11, 25), request_uid=uuid.uuid4())
