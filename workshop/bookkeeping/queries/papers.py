"""The papers of a span."""

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from workshop.invoices.models import Document


@dataclass(frozen=True)
class Papers:
    """The invoices and credit notes issued in a span, by number; how many, and how many bytes their papers have so far."""

    documents: QuerySet[Document]
    count: int
    size: int


def papers(from_on: date, to_on: date) -> Papers:
    """Both days counted."""
    found = Document.objects.filter(issued_on__range=(from_on, to_on)).order_by("number")
    sizes = found.exclude(pdf=None).values_list("pdf__size", flat=True)
    return Papers(found, found.count(), sum(sizes))
