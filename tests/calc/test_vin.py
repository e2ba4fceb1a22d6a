"""Vehicle numbers: form is a rule, the check digit only a reason to look again."""

import pytest

from workshop.calc import vin


def test_a_wrong_check_digit_warns_and_does_not_refuse() -> None:
    found = vin.check("1M8GDM9AYKP042788")
    assert (found.fits, found.check_digit) == (False, "X")
    assert "Place 9 is Y, by the North American rule it would be X" in found.warning


def test_small_letters_and_blanks_are_taken() -> None:
    assert vin.check(" 1m8gdm9a xkp042788 ").vin == "1M8GDM9AXKP042788"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "this has 0"),
        ("1M8GDM9AXKP04278", "has 17 characters, this has 16"),
        ("1M8GDM9AXKP0427880", "this has 18"),
        ("1M8GDM9AXKP04278O", "O in place 17 .* look for 1 or 0"),
        ("IM8GDM9AXKP042788", "I in place 1 "),
        ("1M8GDM9AXKP04278Ö", "letters and figures only"),
        ("1M8GDM9AXKP04278-", "letters and figures only"),
    ],
)
def test_what_cannot_be_a_vehicle_number_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        vin.check(text)


def test_every_single_wrong_figure_in_a_number_is_noticed() -> None:
    good = "11111111111111111"
    for place in (*range(8), *range(9, 17)):
        assert not vin.check(f"{good[:place]}2{good[place + 1 :]}").fits


def test_model_years() -> None:
    assert vin.model_years("1M8GDM9AXKP042788") == (1989, 2019)
    assert vin.model_years("1M8GDMAAXKP042788") == (2019, 1989)
    assert vin.model_years("1M8GDM9AX0P042788") == ()
