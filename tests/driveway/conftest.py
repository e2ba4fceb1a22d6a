"""One card, and entries as a phone writes them."""

import datetime as dt
import json
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from tests.browser import stock
from workshop import clock
from workshop.company.models import Company
from workshop.history.actions import Actor
from workshop.jobs.models import Card
from workshop.staff.models import User

UID = "7b1d2f9e-0c3a-4a51-9d0e-5f2f6a1c0001"
WORDS = "Belt tensioner rattles at idle, quiet at 1,500."


@pytest.fixture
def card(company: Company, owner: User) -> Card:
    """Due today at 14:30."""
    return stock.card_due(Actor.of(owner), clock.today(), dt.time(14, 30))


@pytest.fixture
def entry(card: Card) -> dict[str, Any]:
    """A note as the phone writes it down."""
    return {
        "kind": "note",
        "card": card.pk,
        "data": {"words": WORDS},
        "at": "2026-11-25T10:31:00.000Z",
        "tz": "Europe/Vienna",
        "device": "1c0e6c7e-6a4f-4a0e-8d9b-2f3f4d5e6f70",
        "number": 1,
    }


@pytest.fixture
def put() -> Callable[..., HttpResponse]:
    """PUT of an entry or of raw bytes."""

    def send(client: Client, body: dict[str, Any] | bytes, uid: str | uuid.UUID = UID) -> HttpResponse:
        data = body if isinstance(body, bytes) else json.dumps(body).encode()
        return client.put(f"/m/sync/op/{uid}/", data, content_type="application/json")

    return send
