"""Walk-rounds of the make-believe business, by the real verbs."""

from contextlib import contextmanager

from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.jobs.cards import TESTER, dairy_card
from workshop.rounds import actions
from workshop.rounds.models import Row


def begun(card=None):
    """A walk-round by the usual list on the milk lorry."""
    if not Row.objects.exists():
        actions.take_usual(TESTER)
    return actions.begin_round(TESTER, card or dairy_card())


def long_list(count):
    """So many rows, ten a system."""
    Row.objects.bulk_create(Row(position=n, system=f"System {n // 10}", words=f"Row {n}") for n in range(1, count + 1))


@contextmanager
def at_most(count):
    """So many questions at most, points to roll back to not counted: outside a test there are none."""
    with CaptureQueriesContext(connection) as asked:
        yield
    real = [each["sql"] for each in asked if "SAVEPOINT" not in each["sql"]]
    assert len(real) <= count, "\n".join(real)
