"""pages.boxes: what no paper prints is refused in words."""

import pytest
from django import forms

from workshop.pages.boxes import Plain, Words, plain_text

SAID = "There is a sign in it that no paper can print."


class Sheet(forms.Form):
    name = Plain()
    words = Words("Words", 40, rows=2)


@pytest.mark.parametrize("hostile", ["a\x00b", "\ud800", "a\u202eb", "\x1b[31m", "\x7f"])
def test_what_cannot_be_kept_or_printed_is_refused(hostile):
    with pytest.raises(ValueError, match=SAID):
        plain_text(hostile)
    assert Sheet({"name": hostile, "words": "fine"}).errors["name"][0].startswith(SAID)
    assert "words" in Sheet({"name": "fine", "words": hostile}).errors


@pytest.mark.parametrize("harmless", ["Größe 5 °C – “quoted” ✓", "two\r\nlines", "a\tb", "日本", "e\u0301"])
def test_words_of_people_stay(harmless):
    assert plain_text(harmless) == harmless.replace("\r\n", "\n")
    assert Sheet({"name": harmless, "words": harmless}).is_valid()


def test_an_empty_box_keeps_its_own_sentence():
    assert "Empty" in Sheet({"name": "", "words": ""}).errors["name"][0]
