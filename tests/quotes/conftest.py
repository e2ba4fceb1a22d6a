"""The worked example of shared access on a card, by rows: belt kit, pump, seal, thermostat behind the front of an engine."""

import datetime as dt
from decimal import Decimal

import pytest
from django.test import Client

from workshop import clock
from workshop.customers.models import Contact, Party
from workshop.files.actions import store
from workshop.history.actions import Actor
from workshop.inspections.models import Finding, FindingLine, FindingPhoto
from workshop.jobs.models import Card, CardStep, Complaint, Line, LinePart, LineStep, Role, StepNeeds
from workshop.photos.models import Photo
from workshop.quotes import actions, public_views
from workshop.vehicles.models import Vehicle

# open, close, material, needs
STEPS = {
    1: ("Tray off", 12, 12, "0", []),
    2: ("Coolant drained", 15, 30, "46.20", [1]),
    3: ("Drive belt off", 25, 25, "0", [1]),
    4: ("Front cover off", 35, 40, "38.00", [3]),
    5: ("Timing belt off", 20, 35, "0", [4]),
}
LINES = {
    1: ("due", "Timing belt kit", 18, "214.00", [5]),
    2: ("required", "Coolant pump", 36, "150.60", [5, 2]),
    3: ("due", "Front crank seal", 30, "24.50", [5]),
    4: ("wanted", "Thermostat", 15, "35.20", [2]),
}
PLAIN = {
    1: ("The rubber is cracked across the back. Age, not distance: the belt is 11 years old.", "can break without warning; engine damage"),
    2: ("Coolant has run out at the shaft. It sits behind the belt, reached in the same opening.", "leaks more, within months"),
    3: ("The seal is damp.", "may drip on the new belt"),
    4: ("Opens late.", "slow to warm"),
}
ADA = Actor("staff", "1", "Ada Quillfeather")


def put_line(card, number, kind, words, own_minutes, parts_amount, steps=(), fixed=None):
    plain, if_left = PLAIN.get(number, ("", ""))
    line = Line.objects.create(
        card=card,
        number=number,
        kind=kind,
        words=words,
        plain_words=plain,
        if_left=if_left,
        own_minutes=own_minutes,
        fixed_amount=fixed,
    )
    if parts_amount:
        LinePart.objects.create(line=line, words=words, amount=Decimal(parts_amount), cost=Decimal("1.11"))
    for position in steps:
        LineStep.objects.create(line=line, step=card.steps.get(position=position))
    return line


@pytest.fixture
def card(company):
    """Osgood Plumtree's camper with the four lines of the worked example, nothing offered yet."""
    osgood = Party.objects.create(name="Osgood Plumtree")
    contact = Contact.objects.create(party=osgood, name="Osgood Plumtree", phone="+999 555 010 142", email="osgood@plumtree.example")
    vehicle = Vehicle.objects.create(make="Ostrel", model="Wander 28", plate="VM 00 DEMO-2")
    card = Card.objects.create(
        number="26-0118",
        vehicle=vehicle,
        opened_at=clock.now(),
        drive_advice="gently",
        drive_words="Gently, to home. Not on the trip.",
    )
    for kind in ("caller", "owner", "payer"):
        Role.objects.create(card=card, kind=kind, party=osgood, contact=contact)
    Complaint.objects.create(card=card, words="Make it so I come home.")
    for position, (words, opening, closing, material, _needs) in STEPS.items():
        CardStep.objects.create(
            card=card,
            position=position,
            words=words,
            open_minutes=opening,
            close_minutes=closing,
            material_amount=Decimal(material),
        )
    for position, (*_, needs) in STEPS.items():
        for need in needs:
            StepNeeds.objects.create(step=card.steps.get(position=position), needs=card.steps.get(position=need))
    for number, (kind, words, minutes, parts, steps) in LINES.items():
        put_line(card, number, kind, words, minutes, parts, steps)
    return card


@pytest.fixture
def photo(company):
    """A picture, small enough for a test. The bytes are not looked at here."""
    full, small = store(b"full bytes of the belt", "image/jpeg"), store(b"small bytes of the belt", "image/jpeg")
    return Photo.objects.create(full=full, small=small, width=1600, height=1200, taken_at=clock.now(), received_at=clock.now())


@pytest.fixture
def finding(card, photo):
    """Cracks in the belt, with a photo, behind line 1."""
    found = Finding.objects.create(
        card=card,
        place="Engine, front",
        words="Timing belt cracked across the back",
        condition="act",
        measured=Decimal("6"),
        unit="cracks",
        limit_words="none allowed",
        limit_source="belt maker’s sheet, ed. 2023, p. 2. DEMO",
        by="Ada",
        found_at=clock.now(),
    )
    FindingPhoto.objects.create(finding=found, photo=photo, caption="yours, 24 Nov")
    FindingLine.objects.create(finding=found, line=card.lines.get(number=1))
    return found


@pytest.fixture
def version(card):
    """Belt kit and pump, offered to Osgood."""
    return actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])


@pytest.fixture
def all_four(card):
    """All four lines offered."""
    return actions.send_version(ADA, card, for_whom="Osgood Plumtree")


@pytest.fixture
def address(version):
    """Path of the customer's page."""
    from django.urls import reverse

    from workshop.links.queries import token_of
    from workshop.quotes.queries import link_of

    return reverse("quotes:go_ahead", args=[token_of(link_of(version))])


def in_hours(hours):
    return clock.now() + dt.timedelta(hours=hours)


class Customer(Client):
    """A browser that has the page before it: what it sends carries the page's nonce."""

    def post(self, path, data=None, **more):
        behind = public_views.found(path.split("/")[2]) if path.startswith("/q/") else None
        nonce = public_views.nonce_of(*behind) if behind else ""
        return super().post(path, {"nonce": nonce, **(data or {})}, **more)


@pytest.fixture
def client():
    return Customer()


@pytest.fixture(autouse=True)
def _blank_paper(request, monkeypatch):
    """Drawing a PDF takes half a second; only tests about the paper ask for `real_paper`."""
    if "real_paper" not in request.fixturenames:
        monkeypatch.setattr("workshop.pages.paper.draw", lambda text, *_: f"not drawn: {text}".encode())


@pytest.fixture
def real_paper():
    """Papers are drawn in this test."""
