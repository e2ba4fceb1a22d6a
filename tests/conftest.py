"""Fixtures for every room: three named people of the business and their signed-in clients."""

import datetime as dt
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from django.test import Client

from workshop import clock
from workshop.company import actions as company_actions
from workshop.company.models import Company
from workshop.history.actions import Actor
from workshop.staff.models import User


@pytest.fixture(autouse=True)
def _files_apart(tmp_path: Path, settings: object) -> None:
    """Photos and papers of a test never meet those of another."""
    settings.FILES_ROOT = tmp_path / "files"  # type: ignore[attr-defined]


@pytest.fixture
def held_clock() -> Iterator[dt.datetime]:
    """Wed 25 Nov 2026, 08:00 in UTC."""
    moment = dt.datetime(2026, 11, 25, 8, 0, tzinfo=dt.UTC)
    with clock.frozen(moment):
        yield moment


def _person(username: str, role: str, first: str, last: str) -> User:
    return User.objects.create_user(username, password="a password for tests", role=role, first_name=first, last_name=last)


def _signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


@pytest.fixture
def owner(db: None) -> User:
    return _person("ada", "owner", "Ada", "Quillfeather")


@pytest.fixture
def mechanic(db: None) -> User:
    return _person("pip", "mechanic", "Pip", "Tansley-Vole")


@pytest.fixture
def office(db: None) -> User:
    return _person("nell", "office", "Nell", "Inkwater")


@pytest.fixture
def bookkeeper(db: None) -> User:
    return _person("bram", "bookkeeper", "Bram", "Ledgerley")


@pytest.fixture
def as_owner(owner: User) -> Client:
    return _signed_in(owner)


@pytest.fixture
def as_mechanic(mechanic: User) -> Client:
    return _signed_in(mechanic)


@pytest.fixture
def as_office(office: User) -> Client:
    return _signed_in(office)


@pytest.fixture
def as_bookkeeper(bookkeeper: User) -> Client:
    return _signed_in(bookkeeper)


@pytest.fixture
def company(db: None) -> Company:
    """Quillfeather Mobile Diesel in Vellmark: 78.00 an hour, 22 %."""
    actor = Actor.system("test")
    made = company_actions.set_up(
        actor,
        name="Quillfeather Mobile Diesel",
        address="4 Lantern Yard\nVellmark",
        phone="+999 555 010 117",
        email="ada@quillfeather.example",
        licence_line="Licence VM-4471",
        tax_profile_name="vellmark",
        tax_number="VM 000 000 001",
        bank_details="Lantern Bank, VM00 0000 0000 0001",
    )
    company_actions.set_rate(actor, "workshop", dt.date(2020, 1, 1), Decimal("78.00"))
    company_actions.set_rate(actor, "travel", dt.date(2020, 1, 1), Decimal("46.00"))
    return made
