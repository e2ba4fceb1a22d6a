"""The worked job of belt and pump (B+P), on a card, up to where an invoice can be issued. Also used by the tests of the books."""

import uuid
from decimal import Decimal
from unittest.mock import patch

from workshop.history.actions import Actor
from workshop.jobs import actions as jobs
from workshop.jobs.models import Card, Line
from workshop.quotes import actions as quotes

ADA = Actor.system("Ada Quillfeather")
OSGOOD = {
    "kind": "private",
    "name": "Osgood Plumtree",
    "address": "Barn End, 9 Contour Lane\nNether Vellmark",
    "phone": "+999 555 010 118",
    "email": "osgood@plumtree.example",
}
CAMPER = {"make": "Ostrel", "model": "Wander 28", "plate": "VM 00 DEMO-2"}


def card_of(customer=None) -> Card:
    """A camper whose belt and pump are due."""
    return jobs.take_enquiry(
        ADA, customer={**OSGOOD, **(customer or {})}, vehicle=CAMPER, words="Make it so I come home.", place="Barn End"
    )


def step(card, words, open_minutes, close_minutes, needs=(), material="", amount="0"):
    return jobs.add_step(
        ADA,
        card,
        words=words,
        open_minutes=open_minutes,
        close_minutes=close_minutes,
        needs=needs,
        material_words=material,
        material_amount=Decimal(amount),
    )


def steps(card: Card) -> dict:
    """Opening the front of the engine, as in the worked example: open and close minutes, what it uses up."""
    tray = step(card, "Engine tray", 12, 12)
    drain = step(card, "Drain and refill", 15, 30, (tray,), "coolant", "46.20")
    drive = step(card, "Drive belt", 25, 25, (tray,))
    cover = step(card, "Front cover", 35, 40, (drive,), "cover gasket", "38.00")
    return {"drain": drain, "belt_off": step(card, "Timing belt off", 20, 35, (cover,))}


def line(card, words, minutes, part, amount, opened=(), kind="due") -> Line:
    return jobs.add_line(
        ADA, card, kind=kind, words=words, own_minutes=minutes, parts=[jobs.PartIn(part, Decimal(amount))] if part else [], steps=opened
    )


def belt_and_pump(card: Card) -> dict[str, Line]:
    """Line 1 the belt kit, line 2 the coolant pump."""
    opened = steps(card)
    return {
        "B": line(card, "Timing belt kit", 18, "belt kit", "214.00", [opened["belt_off"]]),
        "P": line(card, "Coolant pump", 36, "pump", "150.60", [opened["belt_off"], opened["drain"]]),
    }


def accept(card: Card, numbers=None, by="Osgood Plumtree", but=()):
    """Sends what waits and has it accepted, all but the numbers in `but`."""
    version = quotes.send_version(ADA, card, for_whom=by, numbers=numbers)
    offered = version.lines.filter(standing="offered").values_list("line__number", flat=True)
    answers = {number: "not-now" if number in but else "accept" for number in offered}
    with patch("workshop.quotes.pdf.version_paper", return_value=b"%PDF- a paper for tests"):
        return quotes.answer(version, answers=answers, name=by, standing="owner", request_uid=uuid.uuid4(), actor=ADA)


def finish(*lines: Line) -> None:
    for each in lines:
        jobs.finish_line(ADA, each)


def ready_card(customer=None) -> Card:
    """B and P accepted and done."""
    card = card_of(customer)
    made = belt_and_pump(card)
    accept(card)
    finish(*made.values())
    return card
