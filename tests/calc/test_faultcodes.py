"""Fault codes: every word there and back."""

import pytest

from workshop.calc import faultcodes


def test_every_word_there_and_back() -> None:
    assert all(faultcodes.encode(faultcodes.decode(word)) == word for word in range(0, 0x10000, 7))


@pytest.mark.parametrize("code", ["", "P4000", "X0100", "P030", "P03011", "P03G1", "P 0301", "0301"])
def test_what_is_no_code_is_refused(code: str) -> None:
    with pytest.raises(ValueError, match="is not a fault code"):
        faultcodes.encode(code)


def test_what_is_no_word_is_refused() -> None:
    for word in (-1, 0x10000, 1.0, True):
        with pytest.raises(ValueError, match="two bytes"):
            faultcodes.decode(word)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("line", "code", "form", "rest"),
    [
        ("P0301 misfire, cylinder 1", "P0301", "J2012", "misfire, cylinder 1"),
        ("u0100: no word from the engine", "U0100", "J2012", "no word from the engine"),
        ("P20EE-1A", "P20EE-1A", "J2012", ""),
        ("0xC100 network", "U0100", "J2012", "network"),  # SAE J2012, from memory
        ("0x5234", "C1234", "J2012", ""),
        ("SPN 190 FMI 2 engine speed", "SPN 190 FMI 2", "J1939", "engine speed"),
        ("spn:524287/fmi:31", "SPN 524287 FMI 31", "J1939", ""),  # the most of 19 and of 5 bits, SAE J1939-73, from memory
        ("SPN 524288 FMI 2", "SPN 524288 FMI 2", "", ""),
        ("SPN 190 FMI 32", "SPN 190 FMI 32", "", ""),
        ("4A21 boost pressure", "4A21 boost pressure", "", ""),
        ("P03011", "P03011", "", ""),
        ("PO301 with a letter for a nought", "PO301 with a letter for a nought", "", ""),
        ("4A21 " + "x" * 60, "4A21", "", "x" * 60),
    ],
)
def test_a_line_begins_with_a_code_or_is_kept_word_for_word(line: str, code: str, form: str, rest: str) -> None:
    assert faultcodes.written(line) == faultcodes.Written(code, form, rest)


def test_an_empty_line_holds_no_code() -> None:
    with pytest.raises(ValueError, match="empty line"):
        faultcodes.written("  ")


@pytest.mark.parametrize(
    ("code", "form", "told"),
    [
        ("P0301", "J2012", "engine and gearbox, common to all makers"),
        ("P1A00-1A", "J2012", "engine and gearbox, the maker’s own"),
        ("U0100", "J2012", "network, common to all makers"),
        ("SPN 190 FMI 2", "J1939", "suspect parameter and failure mode of a heavy vehicle"),
        ("4A21", "", ""),
    ],
)
def test_the_form_tells_whose_code_it_is_and_never_what_it_means(code: str, form: str, told: str) -> None:
    assert faultcodes.told(code, form) == told
