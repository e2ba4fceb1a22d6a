"""Half of a surrogate pair and a NUL: no sheet of a look takes them, none falls over them."""

import pytest

from workshop.inspections import forms
from workshop.inspections.forms import CodesForm, FindingForm, IntakeForm, SiteCheckForm, TestForm
from workshop.pages.boxes import Words


@pytest.mark.parametrize("sign", ["\x00", "\ud800", "\udfff", "\x1b", "\u202e"])
@pytest.mark.parametrize("sheet", [CodesForm, FindingForm, IntakeForm, SiteCheckForm, TestForm])
def test_every_box_for_words_says_a_sentence(db, sheet, sign):
    boxes = [name for name, field in sheet().fields.items() if isinstance(field, Words)]
    form = sheet(dict.fromkeys(boxes, f"P0301 a{sign}b"))
    assert not form.is_valid()
    assert {name for name in boxes if "no paper can print" not in str(form.errors.get(name))} == set()


@pytest.mark.parametrize("typed", ["-40", "−12.5", "0", "999999.999"])
def test_a_measured_value_may_be_cold(typed):
    assert forms.common.Measured("Value").clean(typed) is not None


@pytest.mark.parametrize("typed", ["1" * 13, "-" + "9" * 7, "1\x000", "\ud800", "--4", "4.8.1", "Infinity", "1e400"])
def test_nonsense_is_no_measured_value(typed):
    with pytest.raises(forms.common.forms.ValidationError):
        forms.common.Measured("Value").clean(typed)
