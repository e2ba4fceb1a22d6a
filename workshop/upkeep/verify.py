"""Adds everything up again."""

from collections.abc import Iterator

from django.db import connection
from django.db.models import Count, Max

from workshop.calc import canonical
from workshop.company.models import Series
from workshop.files import queries as files
from workshop.history import queries as history
from workshop.history.models import Event
from workshop.invoices.models import Document
from workshop.jobs.models import Card
from workshop.ledger import queries as ledger
from workshop.quotes.models import GoAhead, Version

GUARDED = [
    "history_event",
    "ledger_entry",
    "ledger_posting",
    "quotes_version",
    "quotes_goahead",
    "quotes_answer",
    "invoices_document",
    "invoices_docline",
]


def problems() -> Iterator[str]:
    """Everything that does not add up, a sentence each. Nothing when all is whole."""
    yield from triggers()
    yield from history.problems()
    yield from (f"The file {problem.sha256} {problem.what}." for problem in files.problems())
    yield from ledger.problems()
    yield from bodies()
    yield from series()
    yield from documents()


def counts() -> dict[str, int]:
    """How much was looked at."""
    return {
        "events": Event.objects.count(),
        "versions": Version.objects.count(),
        "documents": Document.objects.count(),
        "cards": Card.objects.count(),
    }


def triggers() -> Iterator[str]:
    """Every guarded table has its triggers: a rebuilt table would have lost them."""
    catalogue = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.vendor == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    )
    with connection.cursor() as cursor:
        cursor.execute(catalogue)
        present = {row[0] for row in cursor.fetchall()}
    for table in GUARDED:
        for deed in ("update", "delete"):
            if f"{table}_no_{deed}" not in present:
                yield f"The table {table} has lost the trigger that refuses an {deed}."


def bodies() -> Iterator[str]:
    """A frozen version or document says what its hash says."""
    for version in Version.objects.select_related("card").iterator(chunk_size=500):
        if canonical.sha256(version.body) != version.sha256:
            yield f"Version {version} says something else than when it was sent."
    for document in Document.objects.iterator(chunk_size=500):
        if canonical.sha256(document.body) != document.sha256:
            yield f"Document {document} says something else than when it was issued."


def series() -> Iterator[str]:
    """No number is missing or given twice."""
    kinds = {
        "invoice": Document.objects.filter(kind="invoice"),
        "credit": Document.objects.filter(kind="credit"),
        "card": Card.objects.exclude(number=None),
    }
    for kind, rows in kinds.items():
        given = rows.aggregate(many=Count("number"), last=Max("number"))
        counted = sum(Series.objects.filter(kind=kind).values_list("value", flat=True))
        if given["many"] != counted:
            yield f"The series {kind} has given {counted} numbers, {given['many']} are in use (last {given['last']})."


def documents() -> Iterator[str]:
    """Lines add up to their document; a go-ahead fits its version."""
    for document in Document.objects.prefetch_related("lines", "taxes").iterator(chunk_size=200):
        if sum(line.amount for line in document.lines.all()) != document.net_amount:
            yield f"The lines of {document} do not add up to its net."
        if sum(tax.tax_amount for tax in document.taxes.all()) != document.tax_amount:
            yield f"The taxes of {document} do not add up."
    for go_ahead in (
        GoAhead.objects.exclude(version=None).select_related("version").prefetch_related("answers__version_line").iterator(chunk_size=200)
    ):
        if any(answer.version_line.version_id != go_ahead.version_id for answer in go_ahead.answers.all()):
            yield f"The go-ahead of {go_ahead.by} answers lines of another version."
