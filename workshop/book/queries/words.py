"""How names, plates and numbers become words that can be looked up by their beginning."""

import re
import unicodedata

LONGEST = 60  # as long as the column


def plain(text: str) -> str:
    """Small letters without accents: Ångström as angstrom, Straße as strasse."""
    open_up = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in open_up if not unicodedata.combining(letter) and letter != "\x00")


def parts(text: str) -> list[str]:
    """The runs of letters and digits, in order: VM 00 DEMO-1 as vm, 00, demo, 1."""
    return [part[:LONGEST] for part in re.findall(r"[^\W_]+", plain(text))]


def joined(text: str) -> str:
    """All runs as one: VM 00 DEMO-1 as vm00demo1."""
    return "".join(parts(text))[:LONGEST]


def digits(text: str) -> str:
    """The digits alone: +999 555 010 118 as 999555010118."""
    return re.sub(r"\D", "", plain(text))[:LONGEST]


def endings(word: str, least: int) -> set[str]:
    """The word and every ending of it with at least so many characters: what people remember of a plate or a telephone number."""
    return {word[start:] for start in range(max(1, len(word) - least + 1))} if word else set()


def of_number(number: str) -> set[str]:
    """Words of 26-0117: 260117, 0117, 117."""
    runs = parts(number)
    return {joined(number), runs[-1], runs[-1].lstrip("0")} - {""} if runs else set()
