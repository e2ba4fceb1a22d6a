"""Numbers are written one way and read back."""

import pytest

from workshop.calc import numbering
from workshop.calc.numbering import Number


def test_numbers_as_printed() -> None:
    assert numbering.number("card", 2026, 117) == "26-0117"
    assert numbering.number("invoice", 2026, 89) == "I26-0089"
    assert numbering.number("credit", 2007, 12345) == "C07-12345"


def test_numbers_read_back_as_typed() -> None:
    assert numbering.parse(" i26-0117 ") == Number("invoice", 2026, 117)
    for kind in numbering.PREFIXES:
        for value in (1, 9, 117, 9999, 10000, 123456):
            assert numbering.parse(numbering.number(kind, 2026, value)) == Number(kind, 2026, value)


def test_the_next_number_passes_the_four_figures() -> None:
    assert numbering.following("26-0117") == "26-0118"
    assert numbering.following("I26-9999") == "I26-10000"


@pytest.mark.parametrize("text", ["", "26", "26-117", "26-0000", "X26-0117", "26-00117", "26-0117/1", "2026-0117", "٢٦-٠١١٧"])
def test_what_is_no_number_of_ours_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="is not a number of ours"):
        numbering.parse(text)


def test_an_unknown_series_and_a_zero_are_refused() -> None:
    with pytest.raises(ValueError, match="no number series 'dream'"):
        numbering.number("dream", 2026, 1)
    with pytest.raises(ValueError, match="begin at 1"):
        numbering.number("card", 2026, 0)
