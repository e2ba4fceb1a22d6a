import pytest
from django import forms

from workshop.pages.forms import WORDS

FORBIDDEN = ("please", "invalid", "oops", "error", "valid ", "field")


class Sheet(forms.Form):
    name = forms.CharField()
    distance_km = forms.IntegerField()
    price = forms.DecimalField(error_messages={"invalid": "Not a price."})
    on = forms.DateField()
    place = forms.ChoiceField(choices=[("front", "front")])


def test_an_empty_box_says_so():
    assert set(Sheet({}).errors.as_data()) == {"name", "distance_km", "price", "on", "place"}
    assert all(said == ["Empty. This box is needed."] for said in Sheet({}).errors.values())


def test_a_wrong_value_is_told_what_is_expected():
    errors = Sheet({"name": "x", "distance_km": "far", "price": "dear", "on": "soon", "place": "rear"}).errors
    assert errors["distance_km"] == ["Not a whole number. Write digits only."]
    assert errors["on"] == ["Not a day. Write it as 2026-12-04."]
    assert errors["place"] == ["Not one of the choices. Choose again."]


def test_a_forms_own_sentence_wins():
    assert Sheet({"price": "dear"}).errors["price"] == ["Not a price."]


@pytest.mark.parametrize("sentence", [str(said) for words in WORDS.values() for said in words.values()])
def test_no_box_begs_or_blames(sentence):
    assert not [word for word in FORBIDDEN if word in sentence.lower()]
