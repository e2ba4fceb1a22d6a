"""Cards with pictures and answers for the tests of this room."""

import uuid
from decimal import Decimal
from io import BytesIO

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from tests.invoices.making import accept
from tests.jobs.cards import TESTER, dairy_card
from workshop.files.actions import store
from workshop.inspections import actions as inspections
from workshop.jobs import actions as jobs
from workshop.photos.models import Photo

REASON = "Written on the wrong card."


def photo(mark="a") -> Photo:
    """A picture whose bytes nobody looks at."""
    from workshop import clock

    full, small = store(f"full {mark}".encode(), "image/jpeg"), store(f"small {mark}".encode(), "image/jpeg")
    return Photo.objects.create(full=full, small=small, width=4, height=3, taken_at=clock.now(), received_at=clock.now())


def upload(name="meter.jpg"):
    """A real picture as a phone sends it."""
    data = BytesIO()
    Image.new("RGB", (64, 48), "#886644").save(data, "JPEG")
    return SimpleUploadedFile(name, data.getvalue(), "image/jpeg")


def pads(card, *, words="Front pads", measured="5.2", shown=None):
    """A finding with a photo and the line that mends it."""
    finding = inspections.add_finding(
        TESTER,
        card,
        place="Front axle",
        words=f"{words} worn",
        condition="watch",
        measured=Decimal(measured),
        unit="mm",
        photos=[shown or photo()],
    )
    parts = [jobs.PartIn("Pad set", Decimal("61.00"))]
    return finding, inspections.line_from_finding(
        TESTER, finding, kind="due", words=words, own_minutes=40, parts=parts, if_left="brakes longer", critical=True
    )


def left(card):
    """Pads that were offered and answered "not now"."""
    finding, line = pads(card)
    accept(card, but=(line.number,))
    line.refresh_from_db()
    return finding, line


def another_card(vehicle_of, **more):
    """A later card for the same vehicle and owner."""
    owner = vehicle_of.roles.get(kind="owner").party
    return dairy_card(customer=owner, vehicle=vehicle_of.vehicle, caller=None, approver=None, **more)


def a_uid() -> str:
    return str(uuid.uuid4())
