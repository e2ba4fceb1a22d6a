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
