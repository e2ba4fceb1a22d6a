"""A table that somebody exported from elsewhere, as CSV: its rows by column, or what is wrong, by line and column."""

import csv
import io
from collections.abc import Collection, Iterator
from dataclasses import dataclass

BOM = "\ufeff"
SEPARATORS = (",", ";", "\t")
MOST_FAULTS = 200


@dataclass(frozen=True)
class Fault:
    """What is wrong, and where. `column` is "" when it is about the whole line, `line` 0 when it is about the whole file."""

    line: int
    column: str
    what: str

    def __str__(self) -> str:
        where = ", ".join(filter(None, [f"line {self.line}" if self.line else "", f"column {self.column}" if self.column else ""]))
        return f"{where}: {self.what}" if where else self.what


@dataclass(frozen=True)
class Row:
    """A line of the table: the line of the file on which it begins, and every known column, "" where the file has none."""

    line: int
    cells: dict[str, str]


def read(data: bytes, columns: Collection[str], needed: Collection[str], most: int) -> tuple[list[Row], list[Fault]]:
    """The rows of a CSV file in UTF-8 (RFC 4180, with or without a byte order mark; comma, semicolon or tab between the cells).

    The first line names the columns, in any order. Cells come without the blanks around them, empty lines are left out.
    Where there is a fault there are no rows to trust; at most so many rows are taken."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        return [], [Fault(line, "", "a letter is not written in UTF-8. Save the file as CSV UTF-8 and choose it again.")]
    if not text.strip():
        return [], [Fault(0, "", "The file is empty.")]
    lines = _lines(text)
    try:
        first, header = next(lines, (0, []))
        if not header:
            return [], [Fault(0, "", "The file is empty.")]
        names = [cell.strip().lower().replace(" ", "_") for cell in header]
        faults = list(_header(first, names, columns, needed))
        return ([], faults) if faults else _rows(lines, names, columns, most)
    except csv.Error as broken:
        return [], [Fault(0, "", f"The file cannot be read as CSV: {broken}.")]


def _lines(text: str) -> Iterator[tuple[int, list[str]]]:
    """Each line that is not empty, with the number of the line it begins on."""
    head = text.lstrip().partition("\n")[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(SEPARATORS, key=head.count), strict=True)
    begins = 1
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield begins, cells
        begins = reader.line_num + 1


def _header(line: int, names: list[str], columns: Collection[str], needed: Collection[str]) -> Iterator[Fault]:
    known = ", ".join(columns)
    for place, name in enumerate(names, 1):
        if name not in columns:
            yield Fault(line, name[:40] or str(place), f"is no column of this table. There are: {known}.")
        elif name in names[: place - 1]:
            yield Fault(line, name, "is there twice.")
    for name in needed:
        if name not in names:
            yield Fault(line, name, "is missing. The first line names the columns.")


def _rows(lines: Iterator[tuple[int, list[str]]], names: list[str], columns: Collection[str], most: int) -> tuple[list[Row], list[Fault]]:
    rows: list[Row] = []
    faults: list[Fault] = []
    for line, cells in lines:
        if len(rows) == most:
            faults.append(Fault(line, "", f"more than {most:,} rows. Cut the file in two and take one in after the other."))
            break
        if any(cell.strip() for cell in cells[len(names) :]):
            faults.append(
                Fault(line, "", f"{len(cells)} cells, and the first line names {len(names)} columns. A text with a separator needs quotes.")
            )
        found = dict(zip(names, (cell.strip() for cell in cells), strict=False))
        rows.append(Row(line, {name: found.get(name, "") for name in columns}))
    if not rows:
        faults.append(Fault(0, "", "The file has no row below its first line."))
    return rows, faults[:MOST_FAULTS]
