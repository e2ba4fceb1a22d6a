"""Fills an empty place with what the journeys start from: three people and one card. Run inside that place."""

import datetime as dt
from decimal import Decimal

from django.utils import timezone

from workshop import clock
from workshop.company import actions as company
from workshop.history.actions import Actor
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card
from workshop.staff.models import User

PASSWORD = "a password for tests"
PEOPLE = (("ada", "owner", "Ada", "Quillfeather"), ("pip", "mechanic", "Pip", "Tansley-Vole"), ("nell", "office", "Nell", "Inkwater"))


def fill() -> None:
    """The business, its people, and one card that is due today."""
    users = [
        User.objects.create_user(username, password=PASSWORD, role=role, first_name=first, last_name=last)
        for username, role, first, last in PEOPLE
    ]
    owner = Actor.of(users[0])
    company.set_up(
        owner,
        name="Quillfeather Mobile Diesel",
        address="4 Lantern Yard\nVellmark",
        phone="+999 555 010 117",
        email="ada@quillfeather.example",
        licence_line="Licence VM-4471",
        tax_profile_name="vellmark",
        tax_number="VM 000 000 001",
        bank_details="Lantern Bank, VM00 0000 0000 0001",
    )
    company.set_rate(owner, "workshop", dt.date(2020, 1, 1), Decimal("78.00"))
    company.set_rate(owner, "travel", dt.date(2020, 1, 1), Decimal("46.00"))
    card_due(owner, clock.today(), dt.time(14, 30))


def card_due(actor: Actor, day: dt.date, at: dt.time) -> Card:
    """Osgood Plumtree's motorhome, behind the barn."""
    return jobs.take_enquiry(
        actor,
        customer={"kind": "private", "name": "Osgood Plumtree", "phone": "+999 555 010 117"},
        vehicle={"make": "Ostrel", "model": "Wander 28", "plate": "VM 00 DEMO-2"},
        words="Warm smell at the front, belt squeals in the morning.",
        place="Plumtree farm, behind the barn",
        due_at=timezone.make_aware(dt.datetime.combine(day, at)),
    )
