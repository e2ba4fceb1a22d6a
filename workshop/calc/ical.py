"""A calendar as text that calendar programs read: RFC 5545, each rule with its section."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

MOST_OCTETS = 75  # section 3.1, without the line break
LINE_END = "\r\n"
MAKER = "-//Hardstand//Run sheet//EN"  # section 3.7.3
# Section 3.1 allows no control characters in text; the other three end a line for some readers.
BREAKS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff]")


@dataclass(frozen=True)
class Entry:
    """One appointment. `uid` never changes; `changed_at` and `changes` grow with each change; all moments aware."""

    uid: str
    starts_at: datetime
    minutes: int
    title: str
    place: str
    words: str
    changed_at: datetime
    changes: int = 0


def text(value: str) -> str:
    """A value of type TEXT (section 3.3.11): backslash, semicolon and comma escaped, a new line as backslash n."""
    value = BREAKS.sub(" ", value.replace("\r\n", "\n").replace("\r", "\n"))
    return value.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def utc(moment: datetime) -> str:
    """20261125T070000Z (section 3.3.5, form 2). Raises ValueError for a moment without zone."""
    if moment.utcoffset() is None:
        raise ValueError(f"{moment} has no time zone.")
    return moment.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def folded(line: str) -> str:
    """A content line in pieces of at most 75 octets, each further one begun by a space (section 3.1). No character is cut in two."""
    pieces: list[str] = []
    piece, octets = "", 0
    for sign in line:
        size = len(sign.encode())
        if octets + size > MOST_OCTETS:
            pieces.append(piece)
            piece, octets = " ", 1
        piece, octets = piece + sign, octets + size
    return LINE_END.join([*pieces, piece])


def calendar(name: str, entries: Iterable[Entry]) -> str:
    """The whole file: VCALENDAR (section 3.4) with its name (RFC 7986 section 5.1) and one VEVENT for each entry (section 3.6.1)."""
    head = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{MAKER}", f"NAME:{text(name)}", "REFRESH-INTERVAL;VALUE=DURATION:PT1H"]
    lines = [*head, *(line for entry in entries for line in _event(entry)), "END:VCALENDAR"]
    return "".join(folded(line) + LINE_END for line in lines)


def _event(entry: Entry) -> list[str]:
    said = [("SUMMARY", entry.title), ("LOCATION", entry.place), ("DESCRIPTION", entry.words)]
    return [
        "BEGIN:VEVENT",
        f"UID:{text(entry.uid)}",
        f"DTSTAMP:{utc(entry.changed_at)}",
        f"SEQUENCE:{entry.changes}",
        f"DTSTART:{utc(entry.starts_at)}",
        f"DTEND:{utc(entry.starts_at + timedelta(minutes=entry.minutes))}",
        *(f"{key}:{text(value)}" for key, value in said if value),
        "CLASS:PRIVATE",
        "END:VEVENT",
    ]
