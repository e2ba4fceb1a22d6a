"""The business with its call-out rule, held at Wed 25 Nov 2026, 08:00 UTC (09:00 where it is), and two cards."""

import datetime as dt
from decimal import Decimal

import pytest

from tests.scheduling.stops import dairy, plumtree
from workshop.company import actions as company_actions
from workshop.company.models import Company
from workshop.history.actions import Actor
from workshop.jobs.models import Card


@pytest.fixture(autouse=True)
def _in_the_morning(held_clock: object) -> None:
    """Every test of this folder."""


@pytest.fixture
def rule(company: Company) -> Company:
    """45.00, 10 km free each way, 0.62 a km, minutes at 46.00 an hour, night x 1.5, weekend x 1.25."""
    company_actions.set_call_out(
        Actor.system("test"),
        dt.date(2026, 1, 1),
        base_amount=Decimal("45.00"),
        free_km=Decimal(10),
        km_amount=Decimal("0.62"),
        travel_class="travel",
        night_factor=Decimal("1.50"),
        weekend_factor=Decimal("1.25"),
    )
    return company


@pytest.fixture
def card(rule: Company) -> Card:
    return dairy()


@pytest.fixture
def other(rule: Company) -> Card:
    return plumtree()
