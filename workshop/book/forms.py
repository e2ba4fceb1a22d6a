"""What is typed when something is put right, read or refused with a sentence."""

from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms

from workshop.customers.models import Contact, Party
from workshop.inspections.models import Finding
from workshop.jobs.models import Card
from workshop.pages.boxes import Made, Words, one_of
from workshop.vehicles.actions import REASONS
from workshop.vehicles.models import Meter, Vehicle
from workshop.worksheets.models import OldPart

MOST_SHOWN = Decimal("99999999.9")


class Shown(forms.CharField):
    """What a meter shows: 92,400 or 2140.5, never below zero, one place."""

    def __init__(self, label: str) -> None:
        super().__init__(label=label, error_messages={"required": "Nothing written. Write what the meter shows."})
        self.widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The figure as Decimal. A comma before three figures parts thousands, another one is the decimal point."""
        typed = str(super().clean(value)).replace(" ", "").replace("\N{NO-BREAK SPACE}", "")
        head, comma, tail = typed.rpartition(",")
        plain = typed.replace(",", "") if not comma or "." in tail or len(tail) == 3 else f"{head.replace(',', '')}.{tail}"
        try:
            number = Decimal(plain) if plain.isascii() and plain.replace(".", "").isdigit() else Decimal("NaN")
        except InvalidOperation:
            number = Decimal("NaN")
        if not number.is_finite():
            raise forms.ValidationError(f"“{typed[:20]}” is not what a meter shows. Write figures like 92,400.")
        if number > MOST_SHOWN or number != number.quantize(Decimal("0.1")):
            raise forms.ValidationError(f"“{typed[:20]}” does not fit. At most eight figures and one place behind the point.")
        return number


def why() -> Words:
    """The reason, which stays in the history."""
    return Words("Why", 200, empty="No reason. Say why, in one sentence: it stays in the history.")


class ReasonForm(forms.Form):
    """Only the reason."""

    reason = why()


class ComplaintForm(forms.Form):
    """The customer's words as they should have been written."""

    words = Words("In the customer’s words", 2000, rows=3, empty="Nothing written. Write what the customer said.")
    reason = why()


class FindingMoveForm(forms.Form):
    """The card a finding belongs on."""

    card = Words("Job card", 20, empty="No card. Write its number, as it stands at its top right.")
    reason = why()

    def clean_card(self) -> Card:
        """The card with that number."""
        number = self.cleaned_data["card"]
        card = Card.objects.select_related("vehicle").filter(number=number).first()
        if card is None:
            raise forms.ValidationError(f"There is no card {number}. Write its number, as it stands at its top right.")
        return card


class Entry(forms.ModelChoiceField):  # type: ignore[type-arg]
    """One of the rows that are shown, by its id."""

    def __init__(self, label: str, empty: str, rows: Any, name: Any) -> None:
        wrong = {"required": empty, "invalid_choice": empty}
        super().__init__(rows, label=label, widget=forms.RadioSelect, empty_label=None, error_messages=wrong)
        self.name = name

    def label_from_instance(self, row: Any) -> str:
        """What tells one row from another."""
        return str(self.name(row))


class PhotoMoveForm(forms.Form):
    """The finding a photo belongs to."""

    reason = why()

    def __init__(self, findings: Iterable[Finding], *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        rows = Entry("Belongs to", "Choose the finding that it shows.", findings, lambda one: f"{one.words} · {one.place}")
        self.fields = {"to": rows, **self.fields}


class MergeForm(forms.Form):
    """The other entry of the same customer or vehicle."""

    reason = why()

    def __init__(self, rows: Any, name: Any, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields = {"other": Entry("The same one, written down twice", "Choose the other entry.", rows, name), **self.fields}


class ReadingForm(Made):
    """What a meter shows."""

    unit = one_of("Meter", [(Meter.Unit.KM, "km"), (Meter.Unit.HOURS, "hours")], "Choose one: km or hours.", initial=Meter.Unit.KM)
    value = Shown("It shows")
    reason = one_of("If lower than before", [("", "not known yet"), *REASONS.items()], "Choose one of these.", required=False)


class ExplainForm(forms.Form):
    """Why a held reading is lower."""

    reason = one_of("Lower because", list(REASONS.items()), "Choose one: the meter was changed, or the figure before was misread.")


class VehicleForm(forms.Form):
    """What is written of a vehicle."""

    make = Words("Make", 60, empty="No make. Write what stands on it.")
    model = Words("Model", 60, empty="No model. Write what stands on it.")
    plate = Words("Plate", 20, autocapitalize="characters")
    vin = Words("Vehicle number", 20, autocapitalize="characters")
    engine_code = Words("Engine", 20)

    @classmethod
    def of(cls, vehicle: Vehicle) -> dict[str, Any]:
        """What stands there now."""
        return {name: getattr(vehicle, name) for name in cls.base_fields}


class PartyForm(forms.Form):
    """What is written of a customer and of the person one reaches."""

    kind = one_of("Kind", Party.Kind.choices, "Choose one: private or firm.")
    name = Words("Name", 120, empty="No name. Write who the customer is.")
    address = Words("Address", 300, rows=2)
    tax_number = Words("Tax number", 40)
    note = Words("Note", 2000, rows=2)
    contact_name = Words("Reached by", 120)
    contact_phone = Words("Telephone", 30, inputmode="tel")
    contact_email = forms.EmailField(
        label="Mail",
        required=False,
        max_length=254,
        widget=forms.EmailInput({"autocomplete": "off"}),
        error_messages={"invalid": "That is no mail address. It looks like name@place.example."},
    )
    contact_role = Words("As", 60, hint="driver, manager, office")

    @classmethod
    def of(cls, party: Party, contact: Contact | None) -> dict[str, Any]:
        """What stands there now."""
        shown = {name: getattr(party, name) for name in ("kind", "name", "address", "tax_number", "note")}
        return shown | ({f"contact_{name}": getattr(contact, name) for name in ("name", "phone", "email", "role")} if contact else {})

    def clean(self) -> dict[str, Any]:
        """Somebody one reaches has a name."""
        typed = self.cleaned_data
        if (
            "contact_name" not in self.errors
            and not typed.get("contact_name")
            and (typed.get("contact_phone") or typed.get("contact_email"))
        ):
            self.add_error("contact_name", "No name. Write who answers there.")
        return typed

    def what(self) -> dict[str, str]:
        """The keywords of change_party that concern the customer."""
        return {name: self.cleaned_data[name] for name in ("kind", "name", "address", "tax_number", "note")}

    def to_reach(self) -> dict[str, str]:
        """The columns of the contact."""
        return {name: self.cleaned_data[f"contact_{name}"] for name in ("name", "phone", "email", "role")}


class HandOverForm(Made):
    """Who took the vehicle, and with what."""

    given_to = Words("Handed over to", 120, empty="Nobody named. Write who took the vehicle.")
    keys_back = forms.BooleanField(label="Keys and belongings given back", required=False)
    words = Words("What else was said", 300)


class OldPartsForm(Made):
    """What became of the old parts of a card."""

    outcome = one_of("Old parts", OldPart.choices, "Choose what became of the old parts.")
    words = Words("Which", 200)


class OnDayForm(forms.Form):
    """The day whose parts are asked for."""

    on = forms.DateField(
        label="As it was on",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": "No day. Choose one, or see today's.", "invalid": "Not a day. Write it as 2026-12-04."},
    )
