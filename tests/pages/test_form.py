"""The pieces of a form: what was typed stays, the error is linked to its box."""

from django import forms
from django.template import Context, Template
from django.template.loader import render_to_string
from lxml import html


class Intake(forms.Form):
    vin = forms.CharField(label="VIN", help_text="17 characters, no I, O or Q.")
    distance_km = forms.IntegerField(label="Distance, km")
    place = forms.ChoiceField(label="Place", choices=[("front", "Engine, front"), ("rear", "Engine, rear")], widget=forms.RadioSelect)
    condition = forms.ChoiceField(label="Condition", choices=[("good", "good"), ("stop", "stop")], widget=forms.RadioSelect)
    earlier = forms.BooleanField(label="Somebody worked on this before", required=False)
    uid = forms.CharField(widget=forms.HiddenInput, required=False)

    def clean_vin(self):
        raise forms.ValidationError("16 characters. A VIN has 17 and no I, O or Q.")


def drawn(form, name, **extra):
    text = render_to_string("pages/_field.html", {"field": form[name], **extra})
    return html.fragment_fromstring(text, create_parent="div")


def refused(**typed):
    return Intake({"vin": "DEM0TLVR35000117", "distance_km": "92400", "condition": "stop", **typed})


def test_a_refused_box_keeps_what_was_typed_and_names_its_error():
    box = drawn(refused(), "vin")
    written = box.xpath(".//label[@class='field bad']/input")[0]
    assert written.get("value") == "DEM0TLVR35000117"
    assert written.get("aria-invalid") == "true"
    named = written.get("aria-describedby").split()
    assert {e.get("id") for e in box.xpath(".//*[@class='err' or @class='hint']")} == set(named)
    assert box.xpath("string(.//*[@class='err'])") == "16 characters. A VIN has 17 and no I, O or Q."


def test_a_good_box_carries_no_flag():
    box = drawn(refused(), "distance_km")
    assert not box.xpath(".//*[@class='err']")
    assert box.xpath(".//label[@class='field']")


def test_choices_are_options_with_a_legend_and_the_error_is_linked():
    group = drawn(refused(), "place").xpath(".//fieldset")[0]
    assert group.xpath("string(./legend)") == "Place"
    assert len(group.xpath("./label[contains(@class, 'opt')]/input[@type='radio']")) == 2
    assert group.get("aria-describedby") == "id_place_error"
    assert not group.xpath(".//input[@checked]")


def test_conditions_are_chosen_by_shape():
    group = drawn(refused(), "condition", shape=True)
    stop = group.xpath(".//label[.//input[@value='stop']]")[0]
    assert stop.get("class") == "opt shape"
    assert stop.xpath(".//use")[0].get("href").endswith("marks.svg#stop")
    assert stop.xpath(".//input[@checked]")


def test_a_tick_box_is_one_option():
    assert drawn(refused(), "earlier").xpath(".//label[@class='opt']/input[@type='checkbox']")


def test_a_hidden_field_has_no_box():
    assert [child.tag for child in drawn(refused(), "uid")] == ["input"]


def test_the_summary_counts_the_boxes_and_leads_to_them():
    form = refused()
    summary = html.fromstring(render_to_string("pages/_errors.html", {"form": form}))
    assert "Not saved: 2 boxes need a look. Nothing you typed is lost." in " ".join(summary.text_content().split())
    page = Template('{% for field in form %}{% include "pages/_field.html" %}{% endfor %}').render(Context({"form": form}))
    ids = set(html.fromstring(f"<div>{page}</div>").xpath(".//@id"))
    assert {link.get("href")[1:] for link in summary.xpath(".//a")} <= ids


def test_one_box_needs_a_look():
    assert "1 box needs a look" in render_to_string("pages/_errors.html", {"form": refused(place="front")})


def test_no_summary_without_errors():
    assert not render_to_string("pages/_errors.html", {"form": Intake()}).strip()
