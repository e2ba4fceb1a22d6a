"""The business's own list: taken once, then added to, changed, put in order, thinned out."""

import uuid as uuids
from typing import Any

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.inspections.models import Finding
from workshop.jobs.actions import Refused
from workshop.jobs.actions.common import locked, tell
from workshop.rounds import queries
from workshop.rounds.models import Row

MOST_ROWS = 300
WAYS = ("up", "down")
STALE = "Somebody changed this row after you opened the sheet. It stands here as it is now: look first, then change it again."


def _locked_list() -> list[Row]:
    """Every row of the list, taken out or not, locked in one order until commit."""
    return list(Row.objects.select_for_update().order_by("pk"))


def _refuse(rows: list[Row], limit_words: str, limit_source: str) -> None:
    if len([row for row in rows if row.retired_at is None]) >= MOST_ROWS:
        raise Refused(f"{MOST_ROWS} rows are on the list. Take one out before you add another.")
    refuse_bare(limit_words, limit_source)


def refuse_bare(limit_words: str, limit_source: str) -> None:
    """Nothing, if the limit has a source or there is none. Refused otherwise."""
    if limit_words and not limit_source:
        raise Refused("A limit has a source. Write where it stands, or leave the limit empty.")


@transaction.atomic
def take_usual(actor: Actor) -> list[Row]:
    """The usual list, when the list is empty. Pressed twice it is taken once. Refused when the list has rows, taken out or not."""
    rows = _locked_list()
    usual = queries.usual()
    if [(row.system, row.words) for row in rows] == [(row["system"], row["words"]) for row in usual]:
        return rows
    if rows:
        raise Refused("The list has rows already. Add to it, or change what is there.")
    made = Row.objects.bulk_create(Row(position=position, **row) for position, row in enumerate(usual, 1))
    record("rounds.usual_taken", actor, payload={"rows": len(made)})
    return made


@transaction.atomic
def add_row(actor: Actor, *, uid: uuids.UUID, system: str, words: str, **more: str) -> Row:
    """A row behind the last of its system; more is look_for, limit_words, limit_source, unit. The same uid gives the row that is there.

    Refused for a limit without source and for a list that is full."""
    rows = _locked_list()
    if there := next((row for row in rows if row.uid == uid), None):
        return there
    _refuse(rows, more.get("limit_words", ""), more.get("limit_source", ""))
    made = Row.objects.create(uid=uid, system=system, words=words, position=queries.next_position(), **more)
    record("rounds.row_added", actor, payload={"words": words, "system": system})
    return made


@transaction.atomic
def grow_row(actor: Actor, finding: Finding) -> Row:
    """A row of what was found, so that every later walk-round looks there. A finding grows one row, however often it is pressed.

    What it takes over: the place as the system, the words, the unit, and the limit where it has a source. Refused for a full list."""
    card = locked(finding.card)
    rows = _locked_list()
    if there := next((row for row in rows if row.grown_from_id == finding.pk), None):
        return there
    limit = {"limit_words": finding.limit_words, "limit_source": finding.limit_source} if finding.limit_source else {}
    _refuse(rows, limit.get("limit_words", ""), limit.get("limit_source", ""))
    what: dict[str, Any] = {"system": finding.place, "words": finding.words[:120], "unit": finding.unit, **limit}
    made = Row.objects.create(grown_from=finding, position=queries.next_position(), **what)
    tell("rounds.row_grown", actor, card, words=made.words, system=made.system)
    return made


@transaction.atomic
def change_row(actor: Actor, row: Row, *, seen: str, **typed: str) -> Row:
    """Other words from now on; walk-rounds that have begun keep theirs. Nothing changed, nothing recorded.

    Refused for a limit without source, a row that was taken out, and when somebody changed it meanwhile."""
    now = Row.objects.select_for_update().get(pk=row.pk)
    if all(getattr(now, name) == value for name, value in typed.items()):
        return now
    if now.retired_at:
        raise Refused(f"“{now.words}” was taken off the list meanwhile. Put it back first.")
    if seen != queries.seen_of(now):
        raise Refused(STALE)
    refuse_bare(typed.get("limit_words", now.limit_words), typed.get("limit_source", now.limit_source))
    was = now.words
    for name, value in typed.items():
        setattr(now, name, value)
    now.save(update_fields=list(typed))
    record("rounds.row_changed", actor, payload={"was": was, "words": now.words, "system": now.system})
    return now


@transaction.atomic
def move_row(actor: Actor, row: Row, way: str, *, seen: int) -> Row:
    """One place up or down in its system; at the end of the system, the whole system. `seen` is the position the sheet showed.

    Refused at the end of the list, for a row that was taken out, and when the order changed meanwhile: a second tap moves nothing."""
    if way not in WAYS:
        raise Refused("A row moves up or down.")
    rows = sorted((each for each in _locked_list() if each.retired_at is None), key=lambda each: (each.position, each.pk))
    now = next((each for each in rows if each.pk == row.pk), None)
    if now is None:
        raise Refused(f"“{row.words}” was taken off the list meanwhile. Put it back first.")
    if now.position != seen:
        raise Refused("The order changed after you opened the sheet. It stands here as it is now.")
    systems = [group for _, group in queries.by_system(rows)]
    home = next(group for group in systems if now in group)
    step = -1 if way == "up" else 1
    if not _swap(home, home.index(now), step) and not _swap(systems, systems.index(home), step):
        raise Refused(f"It is the {'first' if way == 'up' else 'last'} row of the list already.")
    _line_up([each for group in systems for each in group])
    record("rounds.row_moved", actor, payload={"words": now.words, "way": way})
    return now


def _swap(things: list[Any], place: int, step: int) -> bool:
    """Swaps with the neighbour; False when there is none."""
    other = place + step
    if not 0 <= other < len(things):
        return False
    things[place], things[other] = things[other], things[place]
    return True


def _line_up(rows: list[Row]) -> None:
    """Numbers the rows as they stand."""
    for position, each in enumerate(rows, 1):
        each.position = position
    Row.objects.bulk_update(rows, ["position"])


@transaction.atomic
def retire_row(actor: Actor, row: Row) -> Row:
    """Off the list from the next walk-round on; walk-rounds that have begun keep it. Pressed twice it is recorded once."""
    now = Row.objects.select_for_update().get(pk=row.pk)
    if now.retired_at:
        return now
    now.retired_at = clock.now()
    now.save(update_fields=["retired_at"])
    record("rounds.row_retired", actor, payload={"words": now.words})
    return now


@transaction.atomic
def restore_row(actor: Actor, row: Row) -> Row:
    """Back on the list, at its end. Pressed twice it is recorded once. Refused for a full list."""
    rows = _locked_list()
    now = next(each for each in rows if each.pk == row.pk)
    if now.retired_at is None:
        return now
    _refuse(rows, "", "")
    now.retired_at, now.position = None, queries.next_position()
    now.save(update_fields=["retired_at", "position"])
    record("rounds.row_restored", actor, payload={"words": now.words})
    return now
