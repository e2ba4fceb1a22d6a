"""Vehicle identification numbers: what must hold, and what only makes one look again."""

from dataclasses import dataclass

_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
_VALUES = {
    **{str(n): n for n in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
}
_VALUES |= {"P": 7, "R": 9, **dict(zip("STUVWXYZ", range(2, 10), strict=True))}
_YEARS = "ABCDEFGHJKLMNPRSTVWXY123456789"


@dataclass(frozen=True)
class Check:
    """A number of the right form. `warning` is a sentence when the check digit does not fit, else empty; it forbids nothing."""

    vin: str
    check_digit: str
    fits: bool
    warning: str


def check(vin: str) -> Check:
    """The number in capitals with its check digit worked out. Raises ValueError for a wrong length or characters no such number has.

    The check digit (place 9) is a rule of the United States and Canada, and many other numbers carry a letter there, so one that does
    not fit is a warning. Source: 49 CFR 565.15(c)."""
    text = "".join(vin.upper().split())
    if len(text) != 17:
        raise ValueError(f"A vehicle identification number has 17 characters, this has {len(text)}. Old frame numbers are shorter.")
    for place, character in enumerate(text, 1):
        if character not in _VALUES:
            why = "I, O and Q are left out, look for 1 or 0" if character in "IOQ" else "letters and figures only"
            raise ValueError(f"{character} in place {place} cannot stand in a vehicle identification number: {why}.")
    digit = "0123456789X"[sum(_VALUES[character] * weight for character, weight in zip(text, _WEIGHTS, strict=True)) % 11]
    fits = text[8] == digit
    warning = "" if fits else f"Place 9 is {text[8]}, by the North American rule it would be {digit}. Read the number again."
    return Check(text, digit, fits, warning)


def model_years(vin: str) -> tuple[int, ...]:
    """Model years from 1980 to 2039 that place 10 can mean, the likelier first: a letter in place 7 speaks for 2010 and later.

    Empty where place 10 stands for no year. Holds for light North American vehicles. Raises ValueError as `check`.
    Source: 49 CFR 565.15."""
    text = check(vin).vin
    if text[9] not in _YEARS:
        return ()
    early = 1980 + _YEARS.index(text[9])
    return (early + 30, early) if text[6].isalpha() else (early, early + 30)
