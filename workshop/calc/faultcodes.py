"""Fault codes as printed and as the two bytes a control unit sends. What a code means is the maker's to say."""

import re
from dataclasses import dataclass

J2012, J1939 = "J2012", "J1939"
MOST_SPN, MOST_FMI = 2**19 - 1, 2**5 - 1  # 19 and 5 bits of the four bytes of a code, SAE J1939-73, from memory
SYSTEMS = {"P": "engine and gearbox", "C": "chassis", "B": "body", "U": "network"}  # SAE J2012, from memory
_LETTERS = "PCBU"
_LED = re.compile(r"([PCBU][0-3][0-9A-F]{3})(-[0-9A-F]{2})?(?=\W|$)", re.IGNORECASE)
_WORD = re.compile(r"0x([0-9A-F]{1,4})(?=\W|$)", re.IGNORECASE)
_HEAVY = re.compile(r"SPN\W{0,3}(\d{1,7})\W{1,3}FMI\W{0,3}(\d{1,3})(?=\W|$)", re.IGNORECASE | re.ASCII)
_CODE = re.compile(r"([PCBU])([0-3])([0-9A-F]{3})")


def encode(code: str) -> int:
    """The 16-bit word of a code: U0100 is 0xC100. Raises ValueError for what is no code. Layout: SAE J2012, from memory."""
    text = code.strip().upper()
    parts = _CODE.fullmatch(text)
    if parts is None:
        raise ValueError(f"{code!r} is not a fault code: P, C, B or U, then 0 to 3, then three of 0-9 and A-F, like P0301.")
    return _LETTERS.index(parts[1]) << 14 | int(parts[2]) << 12 | int(parts[3], 16)


def decode(word: int) -> str:
    """The code of a 16-bit word: 0xC100 is U0100. Raises ValueError outside 0 to 0xFFFF. Layout: SAE J2012, from memory."""
    if type(word) is not int or not 0 <= word <= 0xFFFF:
        raise ValueError(f"A fault code is two bytes, 0 to 65535, not {word!r}.")
    return f"{_LETTERS[word >> 14]}{word >> 12 & 3}{word & 0xFFF:03X}"


def is_makers_own(code: str) -> bool:
    """Whether the code's meaning is the vehicle maker's alone: P1, C1, B1, U1, C2, B2, U2 and P30 to P33.

    P0, P2 and the other 0 codes are common to all. Raises ValueError as `encode`. Ranges of P3: SAE J2012, from memory."""
    word = encode(code)
    letter, digit, rest = _LETTERS[word >> 14], word >> 12 & 3, word & 0xFFF
    if letter == "P":
        return digit == 1 or (digit == 3 and rest < 0x400)
    return digit in (1, 2)


@dataclass(frozen=True)
class Written:
    """A code at the head of a line: the code as it is kept, whose form it has ("" for none), and the rest of the line."""

    code: str
    form: str
    rest: str


def written(line: str) -> Written:
    """The code a line begins with: P0301, P0301-1A (with a failure type), 0xC100 as two bytes, SPN 190 FMI 2.

    What has no such form is kept word for word: the line itself up to 40 signs, else its first word. ValueError for an empty line."""
    text = " ".join(line.split())
    if not text:
        raise ValueError("There is no code on an empty line.")
    if led := _LED.match(text):
        return Written(led[0].upper(), J2012, _rest(text, led.end()))
    if word := _WORD.match(text):
        return Written(decode(int(word[1], 16)), J2012, _rest(text, word.end()))
    heavy = _HEAVY.match(text)
    if heavy and int(heavy[1]) <= MOST_SPN and int(heavy[2]) <= MOST_FMI:
        return Written(f"SPN {int(heavy[1])} FMI {int(heavy[2])}", J1939, _rest(text, heavy.end()))
    first, _, rest = text.partition(" ")
    return Written(text, "", "") if len(text) <= 40 else Written(first, "", rest)


def _rest(text: str, at: int) -> str:
    return text[at:].lstrip(" :;,-–")


def told(code: str, form: str) -> str:
    """What the form alone says of a kept code: engine and gearbox, the maker’s own. "" for no form."""
    if form == J2012:
        whose = "the maker’s own" if is_makers_own(code[:5]) else "common to all makers"
        return f"{SYSTEMS[code[0]]}, {whose}"
    return "suspect parameter and failure mode of a heavy vehicle" if form == J1939 else ""
