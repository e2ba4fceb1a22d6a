"""What the office must see first, read from many rooms in a fixed number of queries."""

from dataclasses import dataclass

from django.db.models import QuerySet

from workshop import clock
from workshop.invoices import queries as invoices
from workshop.invoices.models import Document
from workshop.jobs.models import Card
from workshop.letters.models import Letter
from workshop.quotes.models import Question, Version
from workshop.worksheets import queries as worksheets
from workshop.worksheets.models import FollowUp

SHOWN = 30


@dataclass(frozen=True)
class Desk:
    """The heaps on the desk, each at most SHOWN high."""

    cards: list[Card]
    versions: list[Version]
    questions: list[Question]
    unpaid: list[Document]
    letters: list[Letter]
    due: list[FollowUp]


def desk() -> Desk:
    """Open cards by when they are due, quotes that wait for an answer, questions without a reply, unpaid invoices, unsent letters,
    and what is to be looked at again by now."""
    return Desk(
        cards=list(_cards()[:SHOWN]),
        versions=list(_versions()[:SHOWN]),
        questions=list(_questions()[:SHOWN]),
        unpaid=invoices.unpaid(SHOWN),
        letters=list(Letter.objects.exclude(state=Letter.State.SENT).order_by("written_at")[:SHOWN]),
        due=list(worksheets.due(clock.today()))[:SHOWN],
    )


def _cards() -> QuerySet[Card]:
    return (
        Card.objects.filter(state__in=[Card.State.OPEN, Card.State.READY])
        .select_related("vehicle")
        .prefetch_related("roles__party", "complaints")
        .order_by("due_at", "pk")
    )


def _versions() -> QuerySet[Version]:
    waiting = Version.objects.filter(state=Version.State.OPEN, expires_at__gt=clock.now())
    return waiting.select_related("card__vehicle", "payer").order_by("expires_at")


def _questions() -> QuerySet[Question]:
    waiting = Question.objects.filter(reply="").select_related("version_line__line", "version_line__version__card__vehicle")
    return waiting.select_related("version_line__version__payer").order_by("asked_at")
