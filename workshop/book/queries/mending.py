"""What the sheets for putting things right show."""

import uuid as uuids

from django.db.models import Prefetch, QuerySet

from workshop.inspections.models import Finding, FindingPhoto
from workshop.invoices.models import Document
from workshop.invoices.queries import standing_lines
from workshop.jobs.models import Card, Complaint, Line, Role


def card(pk: int) -> Card | None:
    """The card with words, people, lines, findings and photos, or None. Seven queries."""
    photos = Prefetch("photos", FindingPhoto.objects.select_related("photo").order_by("pk"))
    return (
        Card.objects.select_related("vehicle")
        .prefetch_related(
            "complaints",
            Prefetch("roles", Role.objects.select_related("party").order_by("pk")),
            Prefetch("lines", Line.objects.order_by("number")),
            Prefetch("findings", Finding.objects.prefetch_related(photos).order_by("pk")),
        )
        .filter(pk=pk)
        .first()
    )


def complaint(uid: uuids.UUID) -> Complaint | None:
    """The customer's words with their card, or None."""
    return Complaint.objects.select_related("card__vehicle").filter(uid=uid).first()


def card_by_number(number: str) -> Card | None:
    """The card with this number, or None."""
    return Card.objects.select_related("vehicle").filter(number=number).first()


def findings_but(card: Card | None, shown: FindingPhoto) -> QuerySet[Finding]:
    """The findings of a card that the photo does not hang on already."""
    return Finding.objects.filter(card=card).exclude(pk=shown.finding_id).order_by("pk") if card else Finding.objects.none()


def billed(card: Card) -> str:
    """Why the card cannot be cancelled: the sentence that names a document on it, or nothing."""
    number = Document.objects.filter(card=card).order_by("pk").values_list("number", flat=True).first()
    return f"{number} was issued on this card. Credit it; the card itself stays and is closed." if number else ""


def billed_line(line: Line) -> str:
    """Why the line cannot be struck: the sentence that names the invoice it stands on, unless that was credited; or nothing."""
    number = standing_lines().filter(line=line).order_by("pk").values_list("document__number", flat=True).first()
    return f"Line {line.number} stands on invoice {number}. Credit the invoice first, then strike the line." if number else ""
