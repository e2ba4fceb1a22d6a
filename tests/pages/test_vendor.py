"""Other people's files are what they say they are."""

import hashlib
import tomllib
from pathlib import Path

VENDOR = Path(__file__).resolve().parents[2] / "static/vendor"
ROWS = tomllib.loads((VENDOR / "VENDORED.toml").read_text())["file"]


def test_every_file_hashes_to_its_row():
    for row in ROWS:
        assert hashlib.sha256((VENDOR / row["name"]).read_bytes()).hexdigest() == row["sha256"], row["name"]


def test_every_file_has_its_licence_beside_it():
    for row in ROWS:
        assert (VENDOR / row["license_file"]).read_text().strip()


def test_nothing_lies_here_without_a_row():
    known = {"VENDORED.toml", *(row["name"] for row in ROWS), *(row["license_file"] for row in ROWS)}
    assert {file.name for file in VENDOR.iterdir()} == known


def test_the_script_names_the_version_of_its_row():
    row = next(row for row in ROWS if row["name"] == "htmx.min.js")
    assert row["version"] in (VENDOR / "htmx.min.js").read_text()
