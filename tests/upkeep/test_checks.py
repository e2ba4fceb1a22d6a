"""Unsafe databases are refused at start."""

import pytest

from workshop.upkeep import checks

SAFE = {"transaction_mode": "IMMEDIATE", "timeout": 20, "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;"}
SHOWN = {"server_version_num": "150018", "fsync": "on", "full_page_writes": "on", "synchronous_commit": "on"}


def test_the_settings_in_use_are_safe() -> None:
    assert checks.sqlite_errors(SAFE, (3, 51, 3)) == []
    assert checks.sqlite_is_safe(None) == []


@pytest.mark.parametrize(
    ("change", "version", "code"),
    [
        ({}, (3, 40, 1), "upkeep.E001"),  # the write-ahead log bug, sqlite.org/wal.html
        ({}, (3, 51, 2), "upkeep.E001"),
        ({"init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;"}, (3, 53, 4), "upkeep.E002"),
        ({"transaction_mode": "DEFERRED"}, (3, 53, 4), "upkeep.E003"),
        ({"timeout": 5}, (3, 53, 4), "upkeep.E004"),
    ],
)
def test_an_unsafe_sqlite_is_refused(change: dict[str, object], version: tuple[int, ...], code: str) -> None:
    assert [error.id for error in checks.sqlite_errors({**SAFE, **change}, version)] == [code]


def test_an_old_sqlite_may_run_with_the_rollback_journal() -> None:
    assert checks.sqlite_errors({**SAFE, "init_command": "PRAGMA journal_mode=DELETE; PRAGMA synchronous=FULL;"}, (3, 40, 1)) == []


@pytest.mark.parametrize(
    ("name", "value", "code"),
    [
        ("server_version_num", "140011", "upkeep.E005"),
        ("fsync", "off", "upkeep.E006"),
        ("full_page_writes", "off", "upkeep.E006"),
        ("synchronous_commit", "off", "upkeep.E006"),
    ],
)
def test_an_unsafe_postgresql_is_refused(name: str, value: str, code: str) -> None:
    assert checks.postgresql_errors(SHOWN) == []
    assert [error.id for error in checks.postgresql_errors({**SHOWN, name: value})] == [code]
