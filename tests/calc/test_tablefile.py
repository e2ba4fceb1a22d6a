"""calc.tablefile: a CSV file by RFC 4180 (rfc-editor.org/rfc/rfc4180), as it comes from spreadsheets."""

import csv
import io

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from workshop.calc.tablefile import Fault, read

COLUMNS = ("name", "phone", "plate")


def cells(data: bytes) -> list[tuple[int, list[str]]]:
    rows, faults = read(data, COLUMNS, ["name"], 5000)
    assert faults == []
    return [(row.line, list(row.cells.values())) for row in rows]


def fault(data: bytes, most: int = 5000) -> str:
    _rows, faults = read(data, COLUMNS, ["name"], most)
    return "\n".join(map(str, faults))


# RFC 4180 section 2, rules 5 to 7: quoted cells, line breaks, commas and doubled quotes inside them.
def test_the_rules_of_the_rfc() -> None:
    assert cells(b'name,phone\r\n"aaa","b \r\nbb"\r\nzzz,yyy\r\n') == [(2, ["aaa", "b \r\nbb", ""]), (4, ["zzz", "yyy", ""])]
    assert cells(b'name,phone\r\n"a""a","b,b"') == [(2, ['a"a', "b,b", ""])]


@pytest.mark.parametrize("between", [",", ";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("end", ["\r\n", "\n"])
def test_what_spreadsheets_write(between: str, mark: bytes, end: str) -> None:
    rows = [["Plate", " NAME ", "phone"], ["VM 1", "Ödön; Père, fils", "1"], [], ["", "Mabel", ""]]
    out = io.StringIO()
    csv.writer(out, delimiter=between, lineterminator=end).writerows(rows)
    assert cells(mark + out.getvalue().encode()) == [(2, ["Ödön; Père, fils", "1", "VM 1"]), (4, ["Mabel", "", ""])]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty."),
        (b"\xef\xbb\xbf \r\n", "The file is empty."),
        (b"name\r\n", "The file has no row below its first line."),
        (b"name\r\nM\xfcller\r\n", "line 2: a letter is not written in UTF-8."),
        ("name\r\nMüller".encode("utf-16"), "is not written in UTF-8."),
        (b"name,colour\r\nx,y", "line 1, column colour: is no column of this table."),
        (b"name,,phone\r\nx,y,z", "line 1, column 2: is no column of this table."),
        (b"name,Name\r\nx,y", "line 1, column name: is there twice."),
        (b"phone\r\nx", "line 1, column name: is missing."),
        (b"name,phone\r\nx,y,z", "line 2: 3 cells, and the first line names 2 columns."),
        (b'name\r\n"x" y\r\n', "cannot be read as CSV"),
        (b'name\r\n"x', "cannot be read as CSV"),
        (b"name\r\n" + b"x" * 200_000, "cannot be read as CSV"),
        (b"PK\x03\x04\x14\x00\x06\x00", "is no column of this table"),
        (b"\xff\xd8\xff\xe0", "is not written in UTF-8"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(data: bytes, said: str) -> None:
    assert said in fault(data)


def test_the_row_after_the_last_allowed_one() -> None:
    assert fault(b"name\n" + b"x\n" * 3, most=3) == ""
    assert fault(b"name\n" + b"x\n" * 4, most=3) == "line 5: more than 3 rows. Cut the file in two and take one in after the other."
    assert str(Fault(0, "", "x")) == "x"


@given(
    st.lists(st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\x00\r\n"), max_size=8), min_size=3, max_size=3), max_size=5)
)
def test_what_the_standard_writer_writes_comes_back(rows: list[list[str]]) -> None:
    out = io.StringIO()
    csv.writer(out).writerows([list(COLUMNS), *rows])
    found, _ = read(out.getvalue().encode(), COLUMNS, ["name"], 5000)
    wanted = [[cell.strip() for cell in row] for row in rows if any(cell.strip() for cell in row)]
    assert [list(row.cells.values()) for row in found] == wanted


@example(b";")
@given(st.binary(max_size=60))
def test_no_bytes_break_it(data: bytes) -> None:
    rows, faults = read(data, COLUMNS, ["name"], 5)
    assert rows or faults
