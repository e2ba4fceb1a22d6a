"""Fault codes as printed and as the two bytes a control unit sends. What a code means is the maker's to say."""

import re

_LETTERS = "PCBU"
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
