"""An entry balances or is not written; a closed day stays closed."""

import datetime as dt
import uuid
from decimal import Decimal

import pytest

from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.ledger import actions, queries
from workshop.ledger.actions import PostingIn
from workshop.ledger.models import Entry, Posting

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("held_clock")]
ADA = Actor.system("Ada Quillfeather")


def write(*amounts, on=dt.date(2026, 11, 20), **more):
    postings = [PostingIn("bank", Decimal(amount)) for amount in amounts]
    about = {"source_kind": "opening", "source_uid": uuid.uuid4(), "reference": "O-1", "words": "Opening"}
    return actions.write_entry(**{**about, "dated_on": on, "tax_point_on": on, "postings": postings, **more})


def test_a_balanced_entry_keeps_its_postings_in_order():
    entry = write("10.00", "-4.00", "-6.00")
    assert [p.amount for p in entry.postings.order_by("position")] == [Decimal("10.00"), Decimal("-4.00"), Decimal("-6.00")]
    assert queries.balance("bank") == 0


def test_a_coin_too_much_is_refused_and_nothing_is_written():
    with pytest.raises(actions.Refused, match=r"O-1 does not balance: debit less credit is 0\.01"):
        write("10.01", "-10.00")
    assert not Entry.objects.exists()


def test_an_entry_of_nothing_is_refused():
    with pytest.raises(actions.Refused, match="no amount"):
        write("0.00", "0.00")


def test_postings_of_zero_are_left_out():
    assert write("5.00", "0.00", "-5.00").postings.count() == 2


def test_nothing_is_dated_on_or_before_the_close():
    actions.close_books(ADA, dt.date(2026, 10, 31), "October is with the bookkeeper")
    with pytest.raises(actions.Refused, match="closed through 2026-10-31"):
        write("1.00", "-1.00", on=dt.date(2026, 10, 31))
    assert write("1.00", "-1.00", on=dt.date(2026, 11, 1), tax_point_on=dt.date(2026, 10, 28))


def test_opened_again_it_takes_the_entry():
    actions.close_books(ADA, dt.date(2026, 9, 30), "September")
    actions.close_books(ADA, dt.date(2026, 10, 31), "October")
    actions.reopen_books(ADA, "A bill came late")
    assert queries.closed_through() == dt.date(2026, 9, 30)
    assert write("1.00", "-1.00", on=dt.date(2026, 10, 31))
    assert list(queries.problems()) == []
    kinds = list(Event.objects.order_by("seq").values_list("kind", flat=True))
    assert kinds == ["ledger.closed", "ledger.closed", "ledger.reopened"]


@pytest.mark.parametrize(
    ("through", "sentence"), [(dt.date(2026, 11, 25), "has not ended"), (dt.date(2026, 9, 30), "closed through 2026-10-31 already")]
)
def test_a_close_that_makes_no_sense_is_refused(through, sentence):
    actions.close_books(ADA, dt.date(2026, 10, 31), "October")
    with pytest.raises(actions.Refused, match=sentence):
        actions.close_books(ADA, through, "again")


def test_nothing_to_open_again():
    with pytest.raises(actions.Refused, match="The books are open"):
        actions.reopen_books(ADA, "why not")


def test_a_reason_stays_on_file():
    actions.close_books(ADA, dt.date(2026, 10, 31), "October")
    with pytest.raises(actions.Refused, match="reason"):
        actions.reopen_books(ADA, " ")


def test_verify_names_what_does_not_balance():
    entry = write("10.00", "-10.00")
    Posting.objects.create(entry=entry, position=3, role="bank", amount=Decimal("0.01"))
    assert list(queries.problems()) == ["Entry O-1 of 2026-11-20 sums to 0.01, not to 0.00."]


def test_verify_names_what_slipped_behind_a_close():
    actions.close_books(ADA, dt.date(2026, 10, 31), "October")
    at = dt.datetime(2026, 11, 25, 9, tzinfo=dt.UTC)
    entry = Entry.objects.create(
        source_uid=uuid.uuid4(),
        source_kind="opening",
        reference="X",
        dated_on="2026-10-30",
        tax_point_on="2026-10-30",
        entered_at=at,
        words="x",
    )
    Posting.objects.create(entry=entry, position=1, role="bank", amount=0)
    assert list(queries.problems()) == ["Entry X is dated 2026-10-30, but the books were closed through 2026-10-31 before it."]


def test_entries_of_a_span_count_both_days():
    first, last = write("1.00", "-1.00", on=dt.date(2026, 11, 1)), write("2.00", "-2.00", on=dt.date(2026, 11, 20))
    write("3.00", "-3.00", on=dt.date(2026, 11, 21))
    assert list(queries.entries(dt.date(2026, 11, 1), dt.date(2026, 11, 20))) == [first, last]
