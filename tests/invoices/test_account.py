"""invoices:owed, invoices:account and its buttons invoices:take, invoices:use_credit, invoices:give_back, invoices:remind;
invoices:statement."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.invoices import making
from tests.invoices.test_take_payment import another
from workshop import clock
from workshop.company.actions import write_wording
from workshop.history.models import Event
from workshop.invoices import actions, queries
from workshop.invoices.models import Payment
from workshop.letters.models import Letter

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
OWED = reverse("invoices:owed")
LATE = dt.datetime(2026, 12, 20, 8, tzinfo=dt.UTC)


@pytest.fixture
def document():
    return actions.issue_invoice(making.ADA, making.ready_card(), request_uid=uuid.uuid4())


def page(document, which="account"):
    return reverse(f"invoices:{which}", args=[document.payer.uid])


def typed(*documents, **more):
    about = {"amount": "1,028.09", "method": "bank", "paid_on": "2026-11-25", "request_uid": str(uuid.uuid4())}
    return {**about, "documents": [str(each.uid) for each in documents], **more}


def test_who_owes_what_since_when(as_bookkeeper, document):
    actions.issue_invoice(making.ADA, making.ready_card({"name": "Ilse Brackwater"}), request_uid=uuid.uuid4())
    text = as_bookkeeper.get(OWED).content.decode()
    assert "2,056.18" in text
    with clock.frozen(LATE):
        rows = queries.owing(clock.today())
        assert [(row.payer.name, row.due_on, row.ages[1]) for row in rows] == [
            ("Ilse Brackwater", dt.date(2026, 12, 9), Decimal("1028.09")),
            ("Osgood Plumtree", dt.date(2026, 12, 9), Decimal("1028.09")),
        ]


@pytest.mark.parametrize(("late", "place"), [(-5, 0), (0, 0), (1, 1), (30, 1), (31, 2), (60, 2), (61, 3), (90, 3), (91, 4), (400, 4)])
def test_ages_by_days_past_due(late, place):
    assert queries.age(dt.date(2026, 1, 1), dt.date(2026, 1, 1) + dt.timedelta(days=late)) == place


def test_nobody_owes_anything(as_owner):
    assert "Nobody owes anything." in as_owner.get(OWED).content.decode()


def test_the_number_of_queries_does_not_grow(as_owner, document, django_assert_max_num_queries):
    another(document)
    actions.issue_invoice(making.ADA, making.ready_card({"name": "Ilse Brackwater"}), request_uid=uuid.uuid4())
    with django_assert_max_num_queries(6):
        as_owner.get(OWED)
    with django_assert_max_num_queries(14):
        as_owner.get(page(document))


def test_one_payment_on_two_invoices_once(as_office, document):
    second = another(document)
    sent = typed(document, second, amount="2,056.18")
    for _ in range(2):
        assert as_office.post(page(document, "take"), sent)["Location"] == page(document)
    assert [queries.open_amount(each) for each in (document, second)] == [0, 0]
    assert Payment.objects.count() == 1
    other = as_office.post(page(document, "take"), {**sent, "amount": "2,056.17"})
    assert other.status_code == 409
    assert Payment.objects.count() == 1


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({"amount": "2000"}, "tick that the rest is kept as credit"),
        ({"amount": ""}, "Type an amount"),
        ({"paid_on": "2026-11-26"}, "Came in on: 2026-11-26 has not come yet"),
        ({"method": ""}, "Choose how it was paid."),
        ({"documents": [str(uuid.uuid4())]}, "not open any more"),
        ({"documents": ["x"]}, "not open any more"),
        ({"documents": []}, "No invoice is ticked."),
        ({"fee": "1.00"}, "A fee is kept back of a card payment only"),
    ],
)
def test_a_refused_payment(as_office, document, sent, sentence):
    answer = as_office.post(page(document, "take"), typed(document, **sent))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert not Payment.objects.exists()


def test_credit_is_kept_used_and_given_back(as_office, document):
    as_office.post(page(document, "take"), typed(document, amount="1200", keep_rest="on"))
    second = another(document)
    text = as_office.get(page(document)).content.decode()
    assert "171.91" in text
    assert "Use the credit on invoices" in text
    assert as_office.post(page(document, "give_back"), typed(amount="71.91")).status_code == 302
    used = {"documents": [str(second.uid)], "request_uid": str(uuid.uuid4())}
    for _ in range(2):
        assert as_office.post(page(document, "use_credit"), used).status_code == 302
    assert queries.open_amount(second) == Decimal("928.09")
    assert "out of credit" in as_office.get(reverse("invoices:invoice", args=[second.uid])).content.decode()
    assert list(queries.problems()) == []


@pytest.mark.parametrize(
    ("which", "sent", "sentence"),
    [
        ("give_back", {"amount": "0.01"}, "has a credit of 0.00"),
        ("give_back", {"amount": ""}, "Type an amount"),
        ("give_back", {"paid_on": "2026-11-26"}, "has not come yet"),
        ("use_credit", {}, "There is no credit to use."),
        ("use_credit", {"documents": []}, "No invoice is ticked."),
        ("remind", {"email": "osgood@plumtree.example"}, "Nothing of this is past its day."),
        ("remind", {"email": "osgood"}, "No mail address like that."),
        ("remind", {"email": ""}, "No mail address is on file."),
    ],
)
def test_refused_with_a_sentence(as_office, document, which, sent, sentence):
    before = Event.objects.count()
    answer = as_office.post(page(document, which), typed(document, **sent))
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert (Payment.objects.count(), Letter.objects.count(), Event.objects.count()) == (0, 0, before)


def test_a_reminder_is_one_letter_in_the_business_own_words(as_office, document):
    write_wording(making.ADA, "reminder", "Perhaps it slipped your mind.")
    sent = {"email": "osgood@plumtree.example", "request_uid": str(uuid.uuid4())}
    with clock.frozen(LATE):
        for _ in range(2):
            assert as_office.post(page(document, "remind"), sent).status_code == 302
        letter = Letter.objects.get()
        for words in ("Perhaps it slipped your mind.", "I26-0001", "1,028.09 EUR", "Lantern Bank"):
            assert words in letter.body
        assert Event.objects.filter(kind="invoice.reminded").count() == 1
        assert as_office.post(page(document, "remind"), {**sent, "email": "ilse@plumtree.example"}).status_code == 409
        assert Letter.objects.count() == 1


def test_the_statement_is_what_the_books_say(as_bookkeeper, document):
    actions.take_payment(
        making.ADA,
        document,
        method="bank",
        amount=Decimal("1100.00"),
        paid_on=dt.date(2026, 11, 25),
        request_uid=uuid.uuid4(),
        keep_rest=True,
    )
    told = queries.statement(document.payer, dt.date(2026, 11, 1), dt.date(2026, 11, 30))
    assert [(amount, stands) for _, amount, stands in told.rows] == [
        (Decimal("1028.09"), Decimal("1028.09")),
        (Decimal("-1100.00"), Decimal("-71.91")),
    ]
    later = queries.statement(document.payer, dt.date(2026, 12, 1), dt.date(2026, 12, 30))
    assert (later.before, later.rows, later.after) == (Decimal("-71.91"), (), Decimal("-71.91"))
    answer = as_bookkeeper.get(page(document, "statement"), {"from_on": "2026-11-01", "to_on": "2026-11-30"})
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF-")


@pytest.mark.parametrize("asked", [{"from_on": "soon", "to_on": "x"}, {"from_on": "2026-12-01", "to_on": "2026-11-01"}])
def test_days_that_cannot_be_read_show_the_usual_ones(as_owner, document, asked):
    assert as_owner.get(page(document), asked).status_code == 200


@pytest.mark.parametrize(
    ("who", "reads", "writes"), [("as_owner", 200, 422), ("as_office", 200, 422), ("as_bookkeeper", 200, 403), ("as_mechanic", 403, 403)]
)
def test_who_may(who, reads, writes, document, request):
    client = request.getfixturevalue(who)
    assert [client.get(path).status_code for path in (OWED, page(document), page(document, "statement"))] == [reads] * 3
    buttons = ("take", "use_credit", "give_back", "remind")
    assert [client.post(page(document, which), {}).status_code for which in buttons] == [writes] * 4


def test_a_stranger_is_404_and_a_hostile_name_only_a_name(as_owner):
    nobody = [reverse(f"invoices:{which}", args=[uuid.uuid4()]) for which in ("account", "statement")]
    assert [as_owner.get(path).status_code for path in nobody] == [404, 404]
    hostile = making.ready_card({"name": "<script>alert(1)</script>"})
    document = actions.issue_invoice(making.ADA, hostile, request_uid=uuid.uuid4())
    for path in (OWED, page(document)):
        assert "<script>alert(1)" not in as_owner.get(path).content.decode()
