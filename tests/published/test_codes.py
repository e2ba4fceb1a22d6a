"""Vehicle numbers and fault codes against published examples."""

import pytest

from workshop.calc import faultcodes, vin


# Source: 49 CFR 565 table V; NHTSA's outline for new manufacturers; a published example with X; the classic self-test of ones.
@pytest.mark.parametrize("number", ["1G4AH59H45G118341", "1J9RP1A36A1644345", "1M8GDM9AXKP042788", "11111111111111111"])
def test_published_vehicle_numbers_fit(number: str) -> None:
    assert vin.check(number).fits


# Source: layout of SAE J2012, from memory; first digits 0 and 2 common, 1 maker's, as a maker's manual page says.
@pytest.mark.parametrize(
    ("word", "code"),
    [
        (0x0143, "P0143"),
        (0x0133, "P0133"),
        (0x0301, "P0301"),
        (0x20EE, "P20EE"),
        (0x5234, "C1234"),
        (0x4123, "C0123"),
        (0x8123, "B0123"),
        (0xAAAA, "B2AAA"),
        (0xC100, "U0100"),
        (0x3400, "P3400"),
    ],
)
def test_words_and_codes(word: int, code: str) -> None:
    assert (faultcodes.encode(code), faultcodes.decode(word)) == (word, code)


def test_whose_meaning_it_is() -> None:
    assert [code for code in ("P0301", "P1301", "P20EE", "P33FF", "P3400", "U0100", "C1234") if faultcodes.is_makers_own(code)] == [
        "P1301",
        "P33FF",
        "C1234",
    ]
