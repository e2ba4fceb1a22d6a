"""Calendars against RFC 5545 (its own examples) and a reader from outside, the library icalendar."""

import datetime as dt
import re

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.calc import ical

VIENNA = dt.timezone(dt.timedelta(hours=1))
STOP = ical.Entry(
    uid="19970610T172345Z-AF23B2@example.com",
    starts_at=dt.datetime(2026, 11, 25, 8, 0, tzinfo=VIENNA),
    minutes=90,
    title="Churnholt Valley Dairy, Tolvar Hodbearer 35",
    place="Upper yard, The Creamery",
    words="Tolvar Hodbearer 35 VM 00 DEMO-1",
    changed_at=dt.datetime(2026, 11, 24, 17, 30, 12, 345678, tzinfo=dt.UTC),
    changes=3,
)


def read(*entries: ical.Entry) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(ical.calendar("Stops", entries)).walk("VEVENT"))


def test_a_stop_as_the_standard_writes_it() -> None:
    """Section 3.6.1: UID and DTSTAMP once; sections 3.3.5 and 3.8.2: moments in UTC, half past eight as Z."""
    text = ical.calendar("Stops", [STOP])
    assert text.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Hardstand//Run sheet//EN\r\n")
    assert text.endswith("END:VEVENT\r\nEND:VCALENDAR\r\n")
    for line in (
        "UID:19970610T172345Z-AF23B2@example.com",
        "DTSTAMP:20261124T173012Z",
        "DTSTART:20261125T070000Z",
        "DTEND:20261125T083000Z",
        "SEQUENCE:3",
        r"LOCATION:Upper yard\, The Creamery",
    ):
        assert f"\r\n{line}\r\n" in text


def test_the_reader_from_outside_reads_the_same() -> None:
    (event,) = read(STOP)
    assert (str(event["SUMMARY"]), str(event["LOCATION"]), str(event["UID"])) == (STOP.title, STOP.place, STOP.uid)
    assert event.decoded("DTSTART") == STOP.starts_at
    assert event.decoded("DTEND") - event.decoded("DTSTART") == dt.timedelta(minutes=90)
    assert event.decoded("DTSTAMP") == STOP.changed_at.replace(microsecond=0)


def test_text_is_escaped_as_in_the_example_of_the_standard() -> None:
    r"""Section 3.3.11: "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."; section 3.8.1.5 escapes a comma."""
    assert ical.text("Project XYZ Final Review\nConference Room - 3B\r\nCome Prepared.") == (
        r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    )
    assert ical.text("a;b,c\\d") == r"a\;b\,c\\d"


def test_a_name_cannot_write_a_line_of_its_own() -> None:
    hostile = "Plum\r\nATTENDEE:mailto:x@y.example\nEND:VEVENT\x00\x0b\u2028BEGIN:VALARM;X=1"
    (event,) = read(ical.Entry(**{**STOP.__dict__, "title": hostile, "place": hostile}))
    assert set(event) == {"UID", "DTSTAMP", "SEQUENCE", "DTSTART", "DTEND", "SUMMARY", "LOCATION", "DESCRIPTION", "CLASS"}
    assert not event.subcomponents
    assert "ATTENDEE:mailto:x@y.example" in str(event["SUMMARY"])


def test_no_line_has_more_than_75_octets_and_no_sign_is_cut() -> None:
    """Section 3.1: lines of at most 75 octets without the break, a further piece begins with one space."""
    line = "SUMMARY:" + "Überländer–" * 30
    pieces = ical.folded(line).split("\r\n")
    assert all(len(piece.encode()) <= 75 for piece in pieces)
    assert all(piece.startswith(" ") for piece in pieces[1:])
    assert pieces[0] + "".join(piece[1:] for piece in pieces[1:]) == line
    assert ical.folded("x" * 75) == "x" * 75


PRINTED = st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\u2028\u2029\ufeff")


@given(st.text(PRINTED, max_size=200))
def test_whatever_is_typed_comes_back(words: str) -> None:
    """Unescaped as section 3.3.11 says, one pair at a time from the left."""
    pairs = {r"\\": "\\", r"\;": ";", r"\,": ",", r"\n": "\n"}
    assert re.sub(r"\\.", lambda pair: pairs[pair[0]], ical.text(words)) == words


@given(st.text(PRINTED, max_size=200).filter(lambda words: "\\" not in words))
def test_whatever_is_typed_comes_back_from_outside(words: str) -> None:
    """Without backslashes: icalendar 6.3 reads the escaped pair of a backslash before a comma as one comma."""
    (event,) = read(ical.Entry(**{**STOP.__dict__, "title": f"|{words}|"}))
    assert str(event["SUMMARY"]) == f"|{words}|"


def test_a_moment_without_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        ical.utc(dt.datetime(2026, 11, 25, 8, 0))  # noqa: DTZ001
