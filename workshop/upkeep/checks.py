"""Refuses to work on a database that could lose what it said it had kept."""

from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import Error, Tags, register
from django.db import connections

from workshop.database import FIRST_SAFE_WAL

OLDEST_POSTGRESQL = 150000


def sqlite_errors(options: dict[str, Any], version: tuple[int, ...]) -> list[Error]:
    """What is unsafe about the settings of a SQLite database."""
    pragmas = options.get("init_command", "").replace(" ", "").upper()
    found = []
    if "JOURNAL_MODE=WAL" in pragmas and version < FIRST_SAFE_WAL:
        words = ".".join(map(str, version))
        found.append(
            Error(f"SQLite {words} can corrupt its write-ahead log. 3.51.3 or newer is needed, or journal_mode=DELETE.", id="upkeep.E001")
        )
    if "SYNCHRONOUS=FULL" not in pragmas:
        found.append(Error("SQLite without synchronous=FULL loses acknowledged work when the power goes.", id="upkeep.E002"))
    if options.get("transaction_mode") != "IMMEDIATE":
        found.append(Error("SQLite needs transaction_mode IMMEDIATE: two writers at once would fail.", id="upkeep.E003"))
    if options.get("timeout", 0) < 20:
        found.append(Error("SQLite needs a timeout of 20 s or more: a second writer waits its turn.", id="upkeep.E004"))
    return found


def postgresql_errors(shown: dict[str, str]) -> list[Error]:
    """What is unsafe about a PostgreSQL server, by its SHOW values."""
    found = []
    if int(shown["server_version_num"]) < OLDEST_POSTGRESQL:
        found.append(Error("PostgreSQL 15 or newer is needed.", id="upkeep.E005"))
    for name in ("fsync", "full_page_writes", "synchronous_commit"):
        if shown[name] == "off":
            found.append(Error(f"PostgreSQL runs with {name} off and can lose acknowledged work.", id="upkeep.E006"))
    return found


@register()
def sqlite_is_safe(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[Error]:
    """Runs at every start."""
    database = settings.DATABASES["default"]
    return sqlite_errors(database["OPTIONS"], settings.SQLITE_VERSION) if database["ENGINE"].endswith("sqlite3") else []


@register(Tags.database)
def postgresql_is_safe(app_configs: Sequence[AppConfig] | None, databases: Sequence[str] | None = None, **kwargs: Any) -> list[Error]:
    """Runs with migrate and check --database. A throwaway cluster for tests may be fast and unsafe."""
    if settings.TEST or not databases or connections["default"].vendor != "postgresql":
        return []
    with connections["default"].cursor() as cursor:
        shown = {}
        for name in ("server_version_num", "fsync", "full_page_writes", "synchronous_commit"):
            cursor.execute(f"SHOW {name}")
            shown[name] = cursor.fetchone()[0]
    return postgresql_errors(shown)
