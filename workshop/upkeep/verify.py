"""Adds everything up again."""

from collections.abc import Iterator

from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.models import Count, Max

from workshop import clock
from workshop.bookkeeping import queries as bookkeeping
from workshop.calc import canonical
from workshop.company.models import Series
from workshop.files import queries as files
from workshop.history import queries as history
from workshop.history.models import Event
from workshop.history.triggers import GUARDED
from workshop.invoices import queries as invoices
from workshop.invoices.models import Document
from workshop.jobs.models import Card
from workshop.ledger import queries as ledger
from workshop.links import queries as link_queries
from workshop.links.models import Link
from workshop.quotes import queries as quotes
from workshop.quotes.models import GoAhead, Version


def problems() -> Iterator[str]:
    """Everything that does not add up, a sentence each. Nothing when all is whole."""
    yield from triggers()
    yield from history.problems()
    yield from (f"The file {problem.sha256} {problem.what}." for problem in files.problems())
    yield from ledger.problems()
    yield from versions()
    yield from links()
    yield from series()
    yield from invoices.problems()
    yield from bookkeeping.problems()


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
    MigrationLoader(None)  # reading the migrations tells which tables are guarded
    expected = {
        table: names | ({f"{table}_no_truncate"} if connection.vendor == "postgresql" else set()) for table, names in GUARDED.items()
    }
    for table, names in sorted(expected.items()):
        for name in sorted(names - present):
            yield f"The table {table} has lost its trigger {name}."


def versions() -> Iterator[str]:
    """A frozen version says what its hash says; an answered one has its go-ahead, over the total of what was accepted."""
    rows = Version.objects.select_related("card", "go_ahead").prefetch_related("go_ahead__answers__version_line__line")
    for version in rows.iterator(chunk_size=200):
        if canonical.sha256(version.body) != version.sha256:
            yield f"Version {version} says something else than when it was sent."
            continue
        go_ahead = getattr(version, "go_ahead", None)
        if (version.state == Version.State.ANSWERED) != (go_ahead is not None):
            yield f"Version {version} is {version.get_state_display()} and {'has' if go_ahead else 'lacks'} a go-ahead."
        if go_ahead:
            yield from _answered(version, go_ahead)


def _answered(version: Version, go_ahead: GoAhead) -> Iterator[str]:
    answers = list(go_ahead.answers.all())
    if any(answer.version_line.version_id != version.pk for answer in answers):
        yield f"The go-ahead of {go_ahead.by} answers lines of another version than {version}."
        return
    accepted = [answer.version_line.line.number for answer in answers if answer.answer == "accepted"]
    if quotes.price_choice(version, accepted).after_gross != go_ahead.total_after_gross:
        yield f"The go-ahead on {version} is over {go_ahead.total_after_gross}; what was shown comes to another total."


def links() -> Iterator[str]:
    """Every link that still works opens with this installation's key."""
    for link in Link.objects.filter(revoked_at=None, expires_at__gt=clock.now()).iterator(chunk_size=500):
        if link_queries.token_hash(link_queries.token_of(link)) != link.token_sha:
            yield "The links that were sent no longer open: HARDSTAND_SECRET_KEY is not the key they were signed with."
            return


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
