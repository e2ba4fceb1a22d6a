"""bench: counts that must not grow with the rows, bytes that must fit."""

from pathlib import Path

import pytest
from django.test import override_settings

from workshop.upkeep import bench

MOST = {"jobs:card": 16, "driveway:day": 10, "quotes:go_ahead": 6}


@pytest.mark.slow
@pytest.mark.django_db
def test_no_page_asks_more_of_the_database_for_more_rows(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A page may need a query more as soon as there is more than one row; from then on never another."""
    monkeypatch.setattr(bench, "SIZES", (1, 3, 12))
    with override_settings(FILES_ROOT=str(tmp_path / "files")):
        found = bench.at_every_size()
    grown = {name: counts for name, counts in found["queries"].items() if counts["12"] > counts["3"]}
    assert grown == {}
    assert {name: found["queries"][name]["12"] for name in MOST if found["queries"][name]["12"] > MOST[name]} == {}
    assert found["customer_page_bytes_gz"] <= 14 * 1024
    measured = set(found["queries"]) | bench.LEFT_OUT.keys()
    assert {"invoices:invoice", "inspections:finding", "bookkeeping:batches", "today:desk", "book:vehicle"} <= measured


@pytest.mark.slow
def test_a_cold_start_does_not_load_the_paper_renderer() -> None:
    assert bench.cold_start()["cold_loads_weasyprint"] is False
