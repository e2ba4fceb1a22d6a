"""verify, backup, restore: all of it or nothing."""

import datetime as dt
import json
import uuid
import zipfile
from decimal import Decimal
from pathlib import Path

import pytest
from django.db import IntegrityError, connection, transaction

from tests import homes
from workshop.company.models import Company
from workshop.files import queries as files
from workshop.files.actions import store
from workshop.history.actions import Actor
from workshop.jobs import actions as jobs
from workshop.upkeep import backup, verify

ACTOR = Actor.system("test")
CUSTOMER = {"kind": "private", "name": "Osgood Plumtree", "phone": "+999 555 010 131"}
VEHICLE = {"make": "Ostrel", "model": "Wander 28", "plate": "VM 00 DEMO-2"}


@pytest.fixture
def business(company: Company) -> Company:
    card = jobs.take_enquiry(ACTOR, customer=CUSTOMER, vehicle=VEHICLE, words="“Rattles” – and it's cold; 5 °C")
    jobs.add_line(ACTOR, card, kind="first_price", words="Call-out", fixed_amount=Decimal("137.63"))
    store(b"a photo's bytes", "image/jpeg")
    return company


@pytest.mark.django_db
def test_a_whole_business_verifies(business: Company) -> None:
    assert list(verify.problems()) == []
    assert verify.counts()["cards"] == 1


@pytest.mark.django_db
def test_verify_finds_a_lost_file_a_gap_and_a_lost_trigger(business: Company, settings: object) -> None:
    next(path for path in Path(settings.FILES_ROOT).rglob("*") if path.is_file()).unlink()  # type: ignore[attr-defined]
    with connection.cursor() as cursor:
        cursor.execute("UPDATE company_series SET value = 5 WHERE kind = 'card'")
        cursor.execute("DROP TRIGGER ledger_posting_no_delete" + ("" if connection.vendor == "sqlite" else " ON ledger_posting"))
    found = " ".join(verify.problems())
    assert "is missing" in found
    assert "has given 5 numbers, 1 are in use" in found
    assert "ledger_posting has lost its trigger ledger_posting_no_delete" in found


@pytest.mark.slow
@pytest.mark.both_databases
def test_a_backup_from_either_database_comes_back_whole_and_the_same(tmp_path: Path) -> None:
    """Taken from a real place, restored into an empty one on SQLite, backed up again: the same tables, byte for byte."""
    prepare = "from tests.upkeep.test_backup import fill; fill()"
    first, second, home = tmp_path / "first.zip", tmp_path / "second.zip", tmp_path / "home"
    home.mkdir()
    with homes.place(home) as surroundings:
        homes.django(surroundings, "migrate", "-v0")
        assert homes.script(surroundings, prepare).wait() == 0
        said = homes.django(surroundings, "backup", str(first)).stdout
        assert "verified there" in said
        refused = homes.django(surroundings, "restore", str(first), check=False)
        assert refused.returncode == 1
        assert "There is something here already" in refused.stderr
    empty = {**surroundings, "HARDSTAND_DATA": str(tmp_path / "empty"), "DATABASE_URL": ""}
    assert "history ends at line" in homes.django(empty, "restore", str(first)).stdout
    assert "All adds up" in homes.django(empty, "verify").stdout
    homes.django(empty, "backup", str(second))
    assert _tables(first) == _tables(second)
    rows = {table: told["rows"] for table, told in _tables(second).items() if isinstance(told, dict) and "rows" in told}
    filled = ("quotes.GoAhead", "invoices.Document", "invoices.Allocation", "ledger.Posting", "bookkeeping.BatchFile", "photos.Photo")
    assert {table: bool(rows[table]) for table in filled} == dict.fromkeys(filled, True)
    back, third = tmp_path / "back", tmp_path / "third.zip"
    back.mkdir()
    with homes.place(back) as again:  # from SQLite into the database that this run uses: with PostgreSQL, the other way round
        assert "history ends at line" in homes.django(again, "restore", str(second)).stdout
        assert "All adds up" in homes.django(again, "verify").stdout
        homes.django(again, "backup", str(third))
    assert _tables(first) == _tables(third)


def fill() -> None:
    """Something of everything, in a real place: a version with its go-ahead, an invoice with a payment and a credit, a batch, a photo."""
    from tests.invoices import making
    from tests.photos.pictures import card as picture
    from tests.photos.pictures import saved
    from workshop import clock
    from workshop.bookkeeping import actions as books
    from workshop.bookkeeping import queries as bookkeeping
    from workshop.company import actions as company
    from workshop.invoices import actions as invoices
    from workshop.photos.actions import take

    company.set_up(ACTOR, name="Quillfeather Mobile Diesel", address="4 Lantern Yard", phone="1", tax_profile_name="vellmark")
    company.set_rate(ACTOR, "workshop", dt.date(2020, 1, 1), Decimal("78.00"))
    company.write_wording(ACTOR, "terms", "Within 14 days.")
    card = jobs.take_enquiry(ACTOR, customer=CUSTOMER, vehicle=VEHICLE, words="“Rattles” – and it's cold; 5 °C")
    jobs.add_line(ACTOR, card, kind="first_price", words="Call-out", fixed_amount=Decimal("137.63"))
    with transaction.atomic():
        store(b"a photo's bytes", "image/jpeg")
        take(saved(picture()))
    document = invoices.issue_invoice(ACTOR, making.ready_card(), request_uid=uuid.uuid4())
    about = {"amount": Decimal("1100.00"), "method": "card", "fee": Decimal("15.40"), "keep_rest": True}
    invoices.take_payment(ACTOR, document, paid_on=clock.today(), request_uid=uuid.uuid4(), **about)
    invoices.credit_invoice(ACTOR, document, reason="goodwill", amounts={1: Decimal("10.00")}, request_uid=uuid.uuid4())
    about = {"amount": Decimal("20.00"), "method": "bank", "paid_on": clock.today()}
    invoices.give_back(ACTOR, document.payer, request_uid=uuid.uuid4(), **about)
    books.map_accounts(ACTOR, bookkeeping.suggested_accounts("vellmark"))
    books.write_batch(ACTOR, clock.today(), clock.today())


def _tables(path: Path) -> dict[str, object]:
    with zipfile.ZipFile(path) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        return {**manifest["tables"], "files": manifest["files"], "head": manifest["head"]}


@pytest.mark.django_db
def test_a_backup_of_another_version_or_with_a_changed_byte_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("manifest.json", json.dumps({"migrations": ["jobs.0001_initial"], "tables": {}}))
    with pytest.raises(backup.NotRestored, match="another version"):
        backup.restore(path)
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("manifest.json", json.dumps({"migrations": backup.applied(), "tables": {}}))
        archive.writestr("files/" + "0" * 64, b"changed")
    with pytest.raises(backup.NotRestored, match="was damaged"):
        backup.restore(path)


@pytest.mark.django_db
def test_documents_refuse_a_rewrite(business: Company) -> None:
    """The triggers of every guarded table are there on this database."""
    assert list(verify.triggers()) == []
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM history_event")


def test_a_file_is_read_only_by_a_whole_hash() -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        files.path("../../etc/passwd")
