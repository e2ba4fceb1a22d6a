"""Numbers without a gap: company.actions.next_number."""

import datetime as dt
import random
import signal
import time
from pathlib import Path

import pytest
from django.db import transaction

from tests import homes
from workshop.company import actions

DAY = dt.date(2026, 11, 25)

WRITER = """
import datetime, os, sys, uuid
from django.db import transaction
from workshop import clock
from workshop.company.actions import next_number
from workshop.jobs.models import Card
from workshop.vehicles.models import Vehicle
vehicle = Vehicle.objects.get()
acknowledged = open(sys.argv[1], "a")
for _ in range(int(sys.argv[2])):
    with transaction.atomic():
        number = next_number("card", datetime.date(2026, 11, 25))
        Card.objects.create(number=number, vehicle=vehicle, opened_at=clock.now())
    acknowledged.write(number + "\\n")
    acknowledged.flush()
    os.fsync(acknowledged.fileno())
"""
PREPARE = "from workshop.vehicles.models import Vehicle; Vehicle.objects.create(make='Ostrel', model='Wander 28')"
READ = """
import json, sys
from workshop.company.models import Series
from workshop.jobs.models import Card
numbers = sorted(Card.objects.values_list("number", flat=True))
json.dump({"value": Series.objects.get(kind="card").value, "numbers": numbers}, open(sys.argv[1], "w"))
"""


@pytest.mark.django_db
def test_numbers_follow_each_other_by_kind_and_year() -> None:
    with transaction.atomic():
        given = [actions.next_number("card", DAY), actions.next_number("card", DAY), actions.next_number("invoice", DAY)]
        assert given == ["26-0001", "26-0002", "I26-0001"]
        assert actions.next_number("card", dt.date(2027, 1, 2)) == "27-0001"


@pytest.mark.django_db
def test_a_rolled_back_verb_leaves_no_gap() -> None:
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        actions.next_number("card", DAY)
        raise ZeroDivisionError
    with transaction.atomic():
        assert actions.next_number("card", DAY) == "26-0001"


@pytest.mark.django_db
def test_a_date_before_the_last_one_is_refused() -> None:
    with transaction.atomic():
        actions.next_number("invoice", DAY)
    with pytest.raises(actions.DateGoesBack, match="may not be dated 2026-11-24"), transaction.atomic():
        actions.next_number("invoice", dt.date(2026, 11, 24))


@pytest.mark.slow
@pytest.mark.both_databases
def test_eight_writers_and_killed_ones_leave_no_gap_and_no_double(tmp_path: Path) -> None:
    """Three rounds of eight writers; half of each round is killed at a random moment. Whatever was acknowledged is there."""
    chance = random.Random(7)
    with homes.place(tmp_path) as surroundings:
        homes.django(surroundings, "migrate", "-v0")
        assert homes.script(surroundings, PREPARE).wait() == 0
        for round_ in range(3):
            writers = [homes.script(surroundings, WRITER, str(tmp_path / f"ack-{round_}-{i}"), "40") for i in range(8)]
            time.sleep(3)
            for writer in writers[:4]:
                time.sleep(chance.uniform(0, 0.4))
                writer.send_signal(signal.SIGKILL)
            assert [writer.wait(120) for writer in writers[4:]] == [0, 0, 0, 0]
        assert homes.script(surroundings, READ, str(tmp_path / "read")).wait() == 0
    found = __import__("json").loads((tmp_path / "read").read_text())
    acknowledged = [line for path in tmp_path.glob("ack-*") for line in path.read_text().split()]
    assert found["numbers"] == [f"26-{n:04d}" for n in range(1, found["value"] + 1)]
    assert len(acknowledged) == len(set(acknowledged)) >= 3 * 4 * 40
    assert set(acknowledged) <= set(found["numbers"])
