"""Triggers that make a table append-only on both databases. Used by migrations."""

from collections.abc import Sequence
from typing import Any

from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations import RunPython

REFUSE = """CREATE OR REPLACE FUNCTION hardstand_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION '% is append-only', TG_TABLE_NAME USING ERRCODE = 'check_violation'; END $$"""


GUARDED: dict[str, set[str]] = {}  # table to the names of its triggers, filled when the migrations are loaded


def statements(vendor: str, table: str, frozen: Sequence[str], blankable: str = "") -> list[str]:
    """The SQL that refuses deletion and any update of the frozen columns. A blankable text column may only become ''."""
    columns = ", ".join(frozen)
    cases = {"delete": ("DELETE", ""), "update": (f"UPDATE OF {columns}", "")}
    if blankable:
        cases["blank"] = (f"UPDATE OF {blankable}", f"WHEN (NEW.{blankable} <> '')")
    if vendor == "sqlite":
        return [
            f"CREATE TRIGGER {table}_no_{name} BEFORE {event} ON {table} {when} BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
            for name, (event, when) in cases.items()
        ]
    made = [
        f"CREATE TRIGGER {table}_no_{name} BEFORE {event} ON {table} FOR EACH ROW {when} EXECUTE FUNCTION hardstand_refuse()"
        for name, (event, when) in cases.items()
    ]
    truncate = f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION hardstand_refuse()"
    return [REFUSE, *made, truncate]


def once(vendor: str, table: str, column: str) -> str:
    """The SQL that lets a column go from nothing to a value, and never anywhere from there."""
    event = f"CREATE TRIGGER {table}_no_second BEFORE UPDATE OF {column} ON {table}"
    if vendor == "sqlite":
        when = f"WHEN OLD.{column} IS NOT NULL AND NEW.{column} IS NOT OLD.{column}"
        return f"{event} {when} BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
    when = f"WHEN (OLD.{column} IS NOT NULL AND NEW.{column} IS DISTINCT FROM OLD.{column})"
    return f"{event} FOR EACH ROW {when} EXECUTE FUNCTION hardstand_refuse()"


def filled_once(table: str, column: str) -> RunPython:
    """A migration step: see once(). What is registered here, `verify` asks for."""
    GUARDED.setdefault(table, set()).add(f"{table}_no_second")

    def forwards(_apps: Any, editor: BaseDatabaseSchemaEditor) -> None:
        editor.execute(once(editor.connection.vendor, table, column), params=None)

    return RunPython(forwards, RunPython.noop)


def dropped(table: str) -> RunPython:
    """A migration step before append_only is added again: a table that SQLite rebuilt has lost its triggers, PostgreSQL's has them."""

    def forwards(_apps: Any, editor: BaseDatabaseSchemaEditor) -> None:
        where = f" ON {table}" if editor.connection.vendor == "postgresql" else ""
        for deed in ("delete", "update", "blank", "second", *(["truncate"] if where else [])):
            editor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{deed}{where}")

    return RunPython(forwards, RunPython.noop)


def append_only(table: str, frozen: Sequence[str], blankable: str = "") -> RunPython:
    """A migration step: see statements(). What is registered here, `verify` asks for.

    SQLite drops triggers when a later migration rebuilds the table: add the step again there.
    """

    deeds = {"delete", "update"} | ({"blank"} if blankable else set())
    GUARDED.setdefault(table, set()).update(f"{table}_no_{deed}" for deed in deeds)

    def forwards(_apps: Any, editor: BaseDatabaseSchemaEditor) -> None:
        for sql in statements(editor.connection.vendor, table, frozen, blankable):
            editor.execute(sql, params=None)  # the % of PL/pgSQL is no placeholder

    return RunPython(forwards, RunPython.noop)
