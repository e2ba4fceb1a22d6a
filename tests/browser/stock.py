"""Fills an empty place with what the journeys start from: three people and one card. Run inside that place."""

import datetime as dt
from decimal import Decimal

from django.utils import timezone

from workshop import clock
from workshop.company import actions as company
from workshop.history.actions import Actor
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, Line
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


def under_way(pk: int) -> list[str]:
    """The pages of a card whose lines were accepted and worked on, kept for next time, and which has been left: their addresses."""
    card, pip = Card.objects.get(pk=pk), User.objects.get(username="pip")
    actor = Actor.of(pip)
    lines = list(card.lines.order_by("number"))
    kit = jobs.save_kit(actor, card, lines[:2], "Pump and seal")
    operation = kit.operations.get(position=1).operation
    jobs.write_answers(card, {line.pk: Line.Answer.ACCEPTED for line in lines})
    spell = jobs.start_spell(actor, lines[0], pip)
    opening = jobs.open_step(actor, card.steps.get(), bags="7")
    paths = [f"/m/spell/{spell.uid}/", f"/m/opening/{opening.uid}/covers/", f"/catalogue/kits/{kit.uid}/", f"/catalogue/{operation.uid}/"]
    return [*paths, f"/m/card/{pk}/", f"/m/card/{pk}/work-sheet/", f"/m/card/{pk}/strip/", f"/m/card/{pk}/leave/", "/m/"]


def leave(pk: int) -> None:
    """The card's vehicle is left with its cover off."""
    words = {"state": "cover off", "supports": "four wheels", "keys": "with me", "told": "the owner"}
    pip = Actor.of(User.objects.get(username="pip"))
    jobs.leave_vehicle(pip, Card.objects.get(pk=pk), **words, wheels_on=True, no_start_card=True)
