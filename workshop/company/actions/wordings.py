"""The texts of the business. A text is never changed, only followed by its next version."""

from django.db import IntegrityError, transaction

from workshop import clock
from workshop.company.actions.common import Refused, Stale, hold
from workshop.company.models import Wording
from workshop.history.actions import Actor, record


@transaction.atomic
def write_wording(actor: Actor, kind: str, text: str, *, seen: str | None = None) -> Wording:
    """The next version of a text; the older ones stay.

    Raises Refused when it is word for word the newest, Stale when a newer one than the sheet showed is there."""
    hold()
    last = Wording.objects.filter(kind=kind).order_by("-no").first()
    no = last.no if last else 0
    if last and last.text == text:
        raise Refused(f"This is word for word version {no}. There is nothing new to write.", "text")
    if seen is not None and seen != str(no):
        raise Stale(f"Version {no} was written after you opened this sheet. Read it, then write yours after it.")
    try:
        with transaction.atomic():
            wording = Wording.objects.create(kind=kind, no=no + 1, text=text, from_at=clock.now())
    except IntegrityError as double:
        raise Stale("Somebody wrote a version at the same moment. Read it, then write yours after it.") from double
    record("company.worded", actor, payload={"kind": kind, "no": wording.no})
    return wording
