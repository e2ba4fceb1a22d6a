"""Numbers of cards and documents."""

import re
from dataclasses import dataclass

PREFIXES = {"card": "", "invoice": "I", "credit": "C"}  # a letter keeps an invoice apart from its card

_WRITTEN = re.compile(r"([A-Z]?)([0-9]{2})-([0-9]{4,})")


@dataclass(frozen=True)
class Number:
    """A number taken apart: which series, which year (2000 to 2099), which place in it."""

    kind: str
    year: int
    value: int


def number(kind: str, year: int, value: int) -> str:
    """A number as it is printed: card 26-0117, invoice I26-0117. Raises ValueError for an unknown kind or a value below 1."""
    if kind not in PREFIXES:
        raise ValueError(f"There is no number series {kind!r}.")
    if value < 1:
        raise ValueError(f"Numbers begin at 1, not {value}.")
    return f"{PREFIXES[kind]}{year % 100:02d}-{value:04d}"


def parse(text: str) -> Number:
    """The number that `number` wrote, also when typed in small letters or with blanks around it. Raises ValueError for anything else."""
    written = _WRITTEN.fullmatch(text.strip().upper())
    kinds = {prefix: kind for kind, prefix in PREFIXES.items()}
    if written is None or written[1] not in kinds or number("card", int(written[2]), max(int(written[3]), 1))[3:] != written[3]:
        raise ValueError(f"{text!r} is not a number of ours: a card is like 26-0117, an invoice like I26-0117.")
    return Number(kinds[written[1]], 2000 + int(written[2]), int(written[3]))


def following(text: str) -> str:
    """The number after this one in the same series and year. Raises ValueError as `parse`."""
    last = parse(text)
    return number(last.kind, last.year, last.value + 1)
