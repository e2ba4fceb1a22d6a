"""bookkeeping:replace: a batch of the same days in the place of another; the old files never change."""

import datetime as dt
import json
import uuid

import pytest
from django.core.management import call_command
from django.db import IntegrityError, transaction
from django.urls import reverse

from tests.bookkeeping.test_write_batch import NOVEMBER, READERS, journal, paid_invoice, read_by, table, texts
from tests.invoices import making
from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.models import Batch, BatchEntry
from workshop.history.models import Event
from workshop.ledger import actions as ledger

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "held_clock")]
ADA = making.ADA
WHY = {"reason": "A payment of the 3rd was forgotten"}


def late_entry():
    day = dt.date(2026, 11, 3)
    return ledger.write_entry(
        source_kind="payment", source_uid=uuid.uuid4(), reference="LATE-1", dated_on=day, tax_point_on=day, words="Forgotten",
        postings=[ledger.PostingIn("bank", 5), ledger.PostingIn("receivable", -5)],
    )  # fmt: skip


@pytest.fixture
def old():
    actions.write_mapping(queries.suggested_accounts("vellmark"))
    paid_invoice()
    return actions.write_batch(ADA, *NOVEMBER)


def test_it_holds_what_the_old_held_and_what_came_since(as_bookkeeper, old):
    before = texts(old)
    late_entry()
    assert as_bookkeeper.post(reverse("bookkeeping:replace", args=[1]), WHY)["Location"] == reverse("bookkeeping:batch", args=[2])
    new = Batch.objects.get(no=2)
    assert (new.replaces, new.reason, new.entries.count()) == (old, WHY["reason"], 3)
    assert texts(old) == before
    assert {row["entry_uid"] for row in table(old)} < {row["entry_uid"] for row in table(new)}
    told = queries.control(new)
    assert (told["replaces"], told["reason"], told["debit"]) == (1, WHY["reason"], "2061.18")
    assert list(queries.problems()) == []
    assert "in place of batch 1" in texts(new)["hledger"]
    assert "Replaced." in as_bookkeeper.get(reverse("bookkeeping:batch", args=[1])).content.decode()
    assert "replaced by 2" in as_bookkeeper.get(reverse("bookkeeping:batches")).content.decode()


@pytest.mark.parametrize("reader", READERS)
def test_outside_readers_accept_it(old, reader, tmp_path):
    late_entry()
    code, said = read_by(reader, journal(actions.replace_batch(ADA, old, "forgot; | * \n=1"), reader), tmp_path)
    assert code == 0, said


def test_a_replaced_batch_is_left_out_of_the_export(old, tmp_path):
    actions.replace_batch(ADA, old, "Accounts were wrong")
    call_command("export_books", "--from", "2026-11-01", "--to", "2026-11-30", "--out", str(tmp_path / "out"))
    assert [each.name for each in (tmp_path / "out").iterdir()] == ["batch-0002"]


def test_the_one_in_its_place_can_be_replaced_and_the_old_cannot(as_bookkeeper, old):
    actions.replace_batch(ADA, old, "one")
    before = (Batch.objects.count(), Event.objects.count())
    answer = as_bookkeeper.post(reverse("bookkeeping:replace", args=[1]), WHY)
    assert answer.status_code == 422
    assert "Batch 2 is in the place of batch 1 already" in answer.content.decode()
    assert (Batch.objects.count(), Event.objects.count()) == before
    assert actions.replace_batch(ADA, Batch.objects.get(no=2), "two").no == 3
    assert BatchEntry.objects.filter(batchentry=None).count() == 2
    assert list(queries.problems()) == []


def test_closed_days_are_opened_first(as_bookkeeper, old):
    ledger.close_books(ADA, dt.date(2026, 11, 20), "closed")
    page = as_bookkeeper.get(reverse("bookkeeping:batch", args=[1])).content.decode()
    assert "open them again" in page
    assert "Replace batch" not in page
    answer = as_bookkeeper.post(reverse("bookkeeping:replace", args=[1]), WHY)
    assert answer.status_code == 422
    assert "Open them again first" in answer.content.decode()


def test_a_reason_is_needed(as_bookkeeper, old):
    answer = as_bookkeeper.post(reverse("bookkeeping:replace", args=[1]), {"reason": " "})
    assert answer.status_code == 422
    assert "stays on file" in answer.content.decode()
    assert Batch.objects.count() == 1


def test_a_missing_account_stops_it(old):
    write = {"role": "tips", "amount": 5}
    day = dt.date(2026, 11, 3)
    ledger.write_entry(
        source_kind="tip", source_uid=uuid.uuid4(), reference="T", dated_on=day, tax_point_on=day, words="Tip",
        postings=[ledger.PostingIn(**write), ledger.PostingIn("bank", -5)],
    )  # fmt: skip
    with pytest.raises(actions.Refused, match=r"No file was written.*tips"):
        actions.replace_batch(ADA, old, "why")


def test_the_database_takes_an_entry_into_one_batch_that_counts(old):
    entry = BatchEntry.objects.first()
    with pytest.raises(IntegrityError), transaction.atomic():
        BatchEntry.objects.create(batch=old, entry=entry.entry)


def test_json_lines_hold_the_same_as_the_table(old):
    lines = [json.loads(line) for line in texts(old)["jsonl"].splitlines()]
    flat = [(line["entry_uid"], str(row["position"]), row["account"], row["amount"]) for line in lines for row in line["postings"]]
    assert flat == [(row["entry_uid"], row["position"], row["account"], row["amount"]) for row in table(old)]


@pytest.mark.parametrize("who", ["as_office", "as_mechanic"])
def test_it_is_for_owner_and_bookkeeper(who, old, request):
    assert request.getfixturevalue(who).post(reverse("bookkeeping:replace", args=[1]), WHY).status_code == 403
