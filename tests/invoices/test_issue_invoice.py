"""An invoice holds what was accepted and done, at the frozen price, once."""

import datetime as dt
import json
import uuid
from decimal import Decimal
from types import SimpleNamespace

import pytest
from django.db import DatabaseError, connection, transaction

from tests.invoices import making
from workshop import clock
from workshop.calc import canonical
from workshop.company import actions as company_actions
from workshop.history.models import Event
from workshop.invoices import actions, queries
from workshop.invoices.models import DocLine, Document
from workshop.jobs import actions as jobs
from workshop.jobs.models import Line
from workshop.ledger import queries as ledger

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
ADA = making.ADA


def issue(card, **more):
    return actions.issue_invoice(ADA, card, **{"request_uid": uuid.uuid4(), **more})


def postings(document):
    return {(p.role, p.line_kind): p.amount for p in ledger.of_source(document.uid).get().postings.all()}


def test_belt_and_pump_is_what_was_agreed_to_the_coin():
    """The worked job: 303 minutes at 78.00, parts and materials 448.80, tax 22 %."""
    document = issue(making.ready_card())
    assert (document.net_amount, document.tax_amount, document.gross_amount) == (Decimal("842.70"), Decimal("185.39"), Decimal("1028.09"))
    assert sum(line.minutes for line in document.lines.all()) == 303
    assert [line.amount for line in document.lines.all()] == [
        Decimal(amount) for amount in ("237.40", "197.40", "31.20", "104.70", "65.00", "135.50", "71.50")
    ]


def test_debit_is_credit_and_each_kind_of_sale_has_its_posting():
    document = issue(making.ready_card())
    assert postings(document) == {
        ("receivable", ""): Decimal("1028.09"),
        ("sales", "labour"): Decimal("-70.20"),
        ("sales", "parts"): Decimal("-364.60"),
        ("sales", "access_labour"): Decimal("-323.70"),
        ("sales", "access_parts"): Decimal("-84.20"),
        ("output_tax", ""): Decimal("-185.39"),
    }
    assert ledger.balance("receivable", document.payer.uid) == Decimal("1028.09")


def test_the_total_is_the_total_of_the_go_ahead():
    card = making.card_of()
    made = making.belt_and_pump(card)
    agreed = making.accept(card)
    making.finish(*made.values())
    assert issue(card).gross_amount == agreed.total_after_gross


def test_each_line_points_at_the_go_ahead_that_allows_it():
    card = making.card_of()
    made = making.belt_and_pump(card)
    first = making.accept(card, numbers=[1], by="Osgood Plumtree")
    second = making.accept(card, numbers=[2], by="Wilhelmina Plumtree")
    making.finish(*made.values())
    lines = list(issue(card).lines.all())
    assert [line.go_ahead for line in lines[:2]] == [first, second]
    assert {line.words: line.go_ahead for line in lines[2:]} == {
        "Engine tray": first,
        "Drain and refill": second,
        "Drive belt": first,
        "Front cover": first,
        "Timing belt off": first,
    }


def test_a_higher_rate_today_does_not_touch_what_was_agreed():
    card = making.ready_card()
    company_actions.set_rate(ADA, "workshop", dt.date(2026, 11, 25), Decimal("82.50"))
    assert issue(card).gross_amount == Decimal("1028.09")


def test_agreed_at_82_50_the_rounding_shows():
    """Each line is rounded by itself: 865.44 net, not the 865.43 of the minutes together."""
    company_actions.set_rate(ADA, "workshop", dt.date(2026, 11, 1), Decimal("82.50"))
    document = issue(making.ready_card())
    assert (document.net_amount, document.gross_amount) == (Decimal("865.44"), Decimal("1055.84"))


def test_what_is_not_done_waits_and_access_is_charged_once():
    card = making.card_of()
    made = making.belt_and_pump(card)
    making.accept(card)
    making.finish(made["B"])
    first = issue(card)
    assert (first.net_amount, first.gross_amount) == (Decimal("540.60"), Decimal("659.53"))
    making.finish(made["P"])
    second = issue(card)
    assert [line.words for line in second.lines.all()] == ["Coolant pump", "Drain and refill"]
    assert first.net_amount + second.net_amount == Decimal("842.70")


def test_a_declined_line_is_not_on_it():
    card = making.card_of()
    made = making.belt_and_pump(card)
    making.accept(card, but=[2])
    making.finish(made["B"])
    assert issue(card).gross_amount == Decimal("659.53")


def test_what_was_agreed_in_advance_needs_no_finish():
    card = making.card_of()
    jobs.add_line(ADA, card, kind="first_price", words="Call-out", fixed_amount=Decimal("137.63"), fixed_reason="34 km and 41 min each way")
    making.accept(card)
    document = issue(card)
    assert document.gross_amount == Decimal("167.91")
    assert postings(document)["sales", "first_price"] == Decimal("-137.63")


def test_call_out_agreed_first_and_work_agreed_later_are_one_invoice():
    card = making.card_of()
    jobs.add_line(ADA, card, kind="first_price", words="Call-out", fixed_amount=Decimal("137.63"), fixed_reason="34 km and 41 min each way")
    making.accept(card)
    made = making.belt_and_pump(card)
    agreed = making.accept(card)
    making.finish(*made.values())
    document = issue(card)
    assert (document.net_amount, document.gross_amount) == (Decimal("980.33"), Decimal("1196.00"))
    assert document.gross_amount == agreed.total_after_gross


def test_the_same_request_gives_the_same_document():
    card, request = making.ready_card(), uuid.uuid4()
    first = issue(card, request_uid=request)
    before = Event.objects.count()
    assert issue(card, request_uid=request) == first
    assert Document.objects.count() == 1
    assert ledger.of_source(first.uid).count() == 1
    assert Event.objects.count() == before


def test_one_line_of_history():
    card = making.ready_card()
    before = Event.objects.count()
    document = issue(card)
    event = Event.objects.latest("seq")
    assert (Event.objects.count() - before, event.kind, event.card_id) == (1, "invoice.issued", card.pk)
    assert json.loads(event.payload)["number"] == document.number


def test_nothing_to_invoice_is_a_sentence():
    card = making.card_of()
    with pytest.raises(actions.Refused, match="nothing to invoice"):
        issue(card)


def test_a_second_invoice_has_nothing_left():
    card = making.ready_card()
    issue(card)
    with pytest.raises(actions.Refused, match="nothing to invoice"):
        issue(card)
    assert Document.objects.count() == 1


def test_an_accepted_line_written_past_the_quote_is_refused():
    card = making.ready_card()
    stray = making.line(card, "Front seal", 30, "seal", "24.50")
    Line.objects.filter(pk=stray.pk).update(answer="accepted", progress="done")
    with pytest.raises(actions.Refused, match=r"Line 3, Front seal, has no go-ahead on file\."), transaction.atomic():
        issue(card)
    assert not Document.objects.exists()


def test_no_date_before_the_last_invoice_and_no_number_is_lost():
    early, late = making.ready_card(), making.ready_card({"name": "Ilse Brackwater"})
    with clock.frozen(dt.datetime(2026, 12, 5, 8, tzinfo=dt.UTC)):
        issue(early, issued_on=dt.date(2026, 12, 2))
        with pytest.raises(actions.Refused, match="2026-12-02"), transaction.atomic():
            issue(late, issued_on=dt.date(2026, 12, 1))
        numbers = [issue(late).number, *Document.objects.values_list("number", flat=True)]
    assert sorted(set(numbers))[-1].endswith("2")


def test_no_date_to_come():
    with pytest.raises(actions.Refused, match="2026-11-26 has not come yet"):
        issue(making.ready_card(), issued_on=dt.date(2026, 11, 26))


def test_the_tax_point_is_the_day_the_work_was_done():
    card = making.ready_card()
    with clock.frozen(dt.datetime(2026, 12, 4, 9, tzinfo=dt.UTC)):
        document = issue(card)
    assert (document.tax_point_on, document.issued_on, document.due_on) == (
        dt.date(2026, 11, 25),
        dt.date(2026, 12, 4),
        dt.date(2026, 12, 18),
    )


def test_the_tax_rate_is_that_of_the_tax_point():
    from workshop.company.models import TaxRate

    card = making.ready_card()
    TaxRate.objects.create(code="standard", from_on=dt.date(2026, 12, 1), rate=Decimal("0.2500"), name="tax", source="invented")
    with clock.frozen(dt.datetime(2026, 12, 4, 9, tzinfo=dt.UTC)):
        assert issue(card).tax_amount == Decimal("185.39")


def test_the_body_is_canonical_and_holds_the_paper():
    document = issue(making.ready_card())
    body = queries.body(document)
    assert document.sha256 == canonical.sha256(document.body)
    assert canonical.dumps(body) == document.body
    assert body["gross"] == "1028.09"
    assert body["lines"][0]["go_ahead"]["by"] == "Osgood Plumtree"
    assert body["seller"]["bank_details"] == "Lantern Bank, VM00 0000 0000 0001"


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE invoices_document SET gross_amount = gross_amount + 1",
        "UPDATE invoices_document SET body = ''",
        "DELETE FROM invoices_doctax",
        "UPDATE invoices_docline SET amount = 1",
        "DELETE FROM invoices_docline",
        "UPDATE ledger_posting SET amount = 1",
        "DELETE FROM ledger_posting",
    ],
)
def test_nobody_changes_what_was_issued(sql):
    issue(making.ready_card())
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql)


def test_verify_finds_nothing():
    issue(making.ready_card())
    assert list(queries.problems()) == []
    assert list(ledger.problems()) == []


def test_verify_finds_a_changed_line():
    document = issue(making.ready_card())
    line = document.lines.first()
    DocLine.objects.create(
        **{**{f.attname: getattr(line, f.attname) for f in line._meta.concrete_fields if f.name != "id"}, "position": 99}
    )
    assert any(f"The lines of {document.number} sum to" in problem for problem in queries.problems())


@pytest.mark.parametrize("day", [dt.date(2021, 1, 1), dt.date(1990, 1, 1)])
def test_no_date_before_the_work_was_agreed_and_done(day):
    """A paper dated back would carry another year's tax; a day before any tax rate was a fault."""
    card = making.ready_card()
    with pytest.raises(actions.Refused, match="before the work was agreed and done"):
        actions.issue_invoice(ADA, card, request_uid=uuid.uuid4(), issued_on=day)
    assert not Document.objects.exists()
    bill = actions.draw_up(card, day)
    assert bill.total.gross > 0
    assert bill.day_refusal


def test_chosen_lines_now_the_rest_later_and_together_the_agreed_total():
    card = making.ready_card()
    agreed = card.versions.get().go_ahead.total_after_gross
    first = issue(card, numbers=[2])
    assert first.lines.get(position=1).words == "Coolant pump"
    assert {"Engine tray", "Drain and refill", "Timing belt off"} <= {line.words for line in first.lines.all()}, (
        "access stands on the first"
    )
    second = issue(card)
    assert [line.words for line in second.lines.all()] == ["Timing belt kit"]
    assert first.gross_amount + second.gross_amount == agreed
    assert list(queries.problems()) == []


@pytest.mark.parametrize("rate", ["78.00", "82.50", "77.77"])
@pytest.mark.parametrize("order", [[[1], [2]], [[2], [1]], [[1, 2]]])
def test_parts_are_the_whole_to_the_coin(rate, order):
    """The tax of a part is what it adds to the tax of all so far: rounded by itself each, two parts can be a coin too much (A3)."""
    company_actions.set_rate(ADA, "workshop", dt.date(2026, 11, 1), Decimal(rate))
    card = making.ready_card()
    documents = [issue(card, numbers=numbers) for numbers in order]
    assert sum(document.gross_amount for document in documents) == card.versions.get().total_gross
    assert ledger.balance("receivable") == card.versions.get().total_gross


@pytest.mark.parametrize(
    ("numbers", "said"), [([3], "Line 3 cannot be invoiced now"), ([], "No line is ticked."), ([1, 99], "Line 99 cannot be invoiced now")]
)
def test_lines_that_cannot_be_chosen(numbers, said):
    with pytest.raises(actions.Refused, match=said):
        issue(making.ready_card(), numbers=numbers)
    assert not Document.objects.exists()


def test_what_is_chosen_twice_is_not_there_any_more():
    card = making.ready_card()
    issue(card, numbers=[1])
    with pytest.raises(actions.Refused, match="Line 1 cannot be invoiced now"):
        issue(card, numbers=[1, 2])


def test_more_than_was_agreed_is_refused(monkeypatch):
    card = making.ready_card()
    monkeypatch.setattr("workshop.quotes.queries.Pricing.after", lambda *_: SimpleNamespace(net=Decimal("842.69")))
    with pytest.raises(actions.Refused, match=r"comes to 842\.70 without tax, and 842\.69 were agreed"):
        issue(card)
    assert not Document.objects.exists()


@pytest.mark.parametrize("other", [{"numbers": [2]}, {"issued_on": dt.date(2026, 11, 25)}, {"numbers": None}])
def test_the_same_number_with_other_content_is_a_conflict(other):
    card, about = making.ready_card(), {"request_uid": uuid.uuid4(), "numbers": [1]}
    first = issue(card, **about)
    assert issue(card, **about) == first
    with pytest.raises(actions.Conflict, match="made I26-0001 already"):
        issue(card, **{**about, **other})
    with pytest.raises(actions.Conflict):
        issue(making.ready_card({"name": "Ilse Brackwater"}), **about)
    assert Document.objects.count() == 1


def test_a_paper_is_filled_once_and_never_re_pointed():
    from workshop.files.actions import store

    document = actions.ensure_paper(issue(making.ready_card()))
    other = store(b"another paper", "application/pdf")
    for change in (other, None):
        with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
            Document.objects.filter(pk=document.pk).update(pdf=change)
    Document.objects.filter(pk=document.pk).update(pdf_id=document.pdf_id)
