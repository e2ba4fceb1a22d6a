"""What is typed of an enquiry and of a complaint."""

from typing import Any

from django import forms

from workshop import clock
from workshop.calc import vin
from workshop.customers.models import Party
from workshop.jobs.actions import STOP_SIGNS, TOLD, Asked, seen_facts
from workshop.jobs.forms.work import When
from workshop.jobs.models import Card, Complaint
from workshop.pages.boxes import Amount, Made, Words, one_of
from workshop.vehicles.models import Vehicle

MOST_WORDS = 2000

MOVES = [("drives", "drives"), ("rolls", "rolls"), ("stands", "stands")]
NO_WORDS = "Nothing written. Write what the customer says, word for word."
OLD_FRAME = "Older vehicle with a short frame number"


class Phone(Words):
    """A number one can call."""

    def __init__(self, label: str, *, empty: str = "") -> None:
        super().__init__(label, 30, empty=empty, inputmode="tel")

    def clean(self, value: Any) -> str:
        """The number as it was typed. Refused without a figure in it."""
        number = str(super().clean(value))
        if number and not any(sign.isdecimal() for sign in number):
            raise forms.ValidationError(f"“{number}” has no figure. Write the number to call, like +999 555 010 117.")
        return number


class ToldBoxes(forms.Form):
    """What is asked about one complaint."""

    noticed_by = Words("Who noticed it", 120)
    since = Words("Since when", 80)
    heat = one_of("Cold or hot", Complaint.Heat.choices, "Choose one, or none.", required=False)
    load = Words("Under what load", 120, hint="idle, on the flat, uphill, towing")
    smoke = one_of("Smoke", Complaint.Smoke.choices, "Choose one, or none.", required=False)
    lamps = Words("Lamps that light", 120)
    last_work = Words("Last work done on it", 200)
    tried = Words("Tried without success", 200)

    def told(self) -> dict[str, str]:
        """What was told, by the names of the columns. Call it on a good form only."""
        return {name: self.cleaned_data[name] for name in TOLD}

    def told_any(self) -> bool:
        """Whether something stands in one of the boxes or is wrong with it: the fold opens."""
        return any(self[name].value() or self[name].errors for name in TOLD)


class ComplaintForm(Made, ToldBoxes):
    """One complaint; the words of one that is there stay as they were said."""

    words = Words("In the customer’s words", MOST_WORDS, rows=3, empty=NO_WORDS)

    def __init__(self, *args: Any, known: Complaint | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        if known:
            del self.fields["words"]
            self.initial = {name: getattr(known, name) for name in TOLD}


class AskedBoxes(forms.Form):
    """What is asked beside the complaint."""

    place = Words("Where it stands", 200)
    due_at = When("When")
    moves = one_of("Does it move", MOVES, "Choose one, or none.", required=False)
    stop_signs = forms.MultipleChoiceField(
        label="Stop signs: it must not be driven",
        choices=list(STOP_SIGNS.items()),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"invalid_choice": "That is no stop sign. Choose from the list."},
    )
    aim = Words("What the owner wants in the end", 200, hint="to be home tonight, to keep it ten years, to sell it")
    used_for = Words("What it is used for", 120, hint="milk round, holidays, towing")
    limit_gross = Amount("May be spent without asking, incl. tax", hint="Empty: nothing was agreed.")
    recalls_checked = forms.BooleanField(label="Recalls checked", required=False)
    recalls_on = forms.DateField(
        label="Checked on",
        required=False,
        initial=clock.today,
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        error_messages={"invalid": "That is no day. Write it like 2026-12-04."},
    )
    recalls_source = Words("Where", 120, hint="The maker’s page, the register, a letter.")

    def clean(self) -> dict[str, Any]:
        """Recalls were checked somewhere, on a day that has been."""
        typed = self.cleaned_data
        if typed.get("recalls_checked"):
            if not typed.get("recalls_source") and "recalls_source" not in self.errors:
                self.add_error("recalls_source", "Checked where? Write the source.")
            if not typed.get("recalls_on") and "recalls_on" not in self.errors:
                self.add_error("recalls_on", "Checked when? Write the day.")
            elif typed.get("recalls_on") and typed["recalls_on"] > clock.today():
                self.add_error("recalls_on", f"{typed['recalls_on']} is still to come. Write the day it was checked.")
        elif typed.get("recalls_source"):
            self.add_error("recalls_checked", "A source is written. Tick that recalls were checked, or empty it.")
        return typed

    def asked(self) -> Asked:
        """What was asked beside the complaint. Call it on a good form only."""
        typed = self.cleaned_data
        on = typed["recalls_on"] if typed["recalls_checked"] else None
        names = ("aim", "used_for", "limit_gross", "stop_signs", "recalls_source")
        return Asked(recalls_on=on, **{name: typed[name] for name in names})

    def asked_any(self) -> bool:
        """Whether the fold of what else was asked opens."""
        names = ("aim", "used_for", "limit_gross", "recalls_checked", "recalls_source")
        return any(self[name].value() or self[name].errors for name in names) or bool(self["recalls_on"].errors)


class FactsForm(AskedBoxes):
    """What was asked of a card, put right later. `seen` is the print of what the page showed."""

    seen = forms.CharField(max_length=16, required=False, widget=forms.HiddenInput)

    def __init__(self, card: Card, data: Any = None) -> None:
        names = ("place", "due_at", "moves", "aim", "used_for", "limit_gross", "recalls_source")
        shown = {name: getattr(card, name) for name in names} | {"seen": seen_facts(card)}
        shown |= {"stop_signs": [sign for sign in card.stop_signs.split(",") if sign], "recalls_checked": bool(card.recalls_on)}
        if card.recalls_on:
            shown["recalls_on"] = card.recalls_on
        super().__init__(data, initial=shown)

    def facts(self) -> dict[str, Any]:
        """The keywords of change_facts. Call it on a good form only."""
        return {"asked": self.asked(), **{name: self.cleaned_data[name] for name in ("place", "due_at", "moves", "seen")}}


class EnquiryForm(Made, ToldBoxes, AskedBoxes):
    """Customer and vehicle, new or known, and what the customer says."""

    kind = one_of("Who calls", [("private", "private"), ("firm", "firm")], "Choose one: private or firm.", initial="private")
    name = Words("Name", 120, empty="No name. Write who the customer is.")
    phone = Phone("Telephone", empty="No number. Write where you can call back.")
    email = forms.EmailField(
        label="Mail",
        required=False,
        max_length=254,
        widget=forms.EmailInput({"autocomplete": "off"}),
        error_messages={
            "invalid": "That is no mail address. It looks like name@place.example.",
            "max_length": "Too long for a mail address.",
        },
    )
    address = Words("Address", 300, rows=2)
    contact_name = Words("Speaks for the firm", 120)
    contact_role = Words("As", 60, hint="driver, manager, office")
    make = Words("Make", 60, empty="No make. Write what stands on it.")
    model = Words("Model", 60, empty="No model. Write what stands on it.")
    plate = Words("Plate", 20, autocapitalize="characters")
    vin = Words("VIN", 40, autocapitalize="characters", hint="17 characters. May stay empty.")
    old_frame = forms.BooleanField(label=OLD_FRAME, required=False)
    words = Words("In the customer’s words", MOST_WORDS, rows=3, empty=NO_WORDS)
    payer_name = Words("Pays, if somebody else", 120)
    payer_address = Words("Payer’s address", 300, rows=2)
    approver_name = Words("Says yes, if somebody else", 120)
    approver_phone = Phone("Their telephone")
    approver_limit = Amount("Up to, incl. tax", hint="Empty: any amount.")

    def __init__(self, *args: Any, known: Party | None = None, vehicles: list[Vehicle] | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        self.known, self.vehicles = known, {str(vehicle.pk): vehicle for vehicle in vehicles or []}
        if known:
            for name in ("kind", "name", "phone", "email", "address", "contact_name", "contact_role"):
                del self.fields[name]
        if self.vehicles:
            named = [(pk, f"{vehicle} {vehicle.plate}".strip()) for pk, vehicle in self.vehicles.items()]
            self.fields["vehicle"] = one_of("Vehicle", [*named, ("", "another one")], "Choose one of these.", required=False)
        if self.data.get("vehicle") in self.vehicles:
            self.fields["make"].required = self.fields["model"].required = False

    def clean_vin(self) -> str:
        """ISO 3779: 17 characters, letters without I, O and Q. Older frame numbers are as they are."""
        number = str(self.cleaned_data["vin"]).replace(" ", "").upper()
        old = bool(self.data.get("old_frame"))
        if old and len(number) > 20:
            raise forms.ValidationError(f"{len(number)} characters. A frame number has at most 20 here.")
        if number and not old and (len(number) != 17 or not (number.isascii() and number.isalnum()) or set(number) & set("IOQ")):
            raise forms.ValidationError(f"{len(number)} characters. A VIN has 17 and no I, O or Q.")
        return number

    def doubt(self) -> str:
        """A sentence when the check digit of the number does not fit, else empty. Older frame numbers have none."""
        number = self.cleaned_data["vin"]
        return "" if not number or self.cleaned_data["old_frame"] else vin.check(number).warning

    def enquiry(self) -> dict[str, Any]:
        """The keywords of take_enquiry. Call it on a good form only."""
        typed = self.cleaned_data
        firm = typed.get("kind") == "firm"
        customer = {name: typed.get(name, "") for name in ("kind", "name", "phone", "email", "address")}
        if firm:
            customer |= {"contact_name": typed["contact_name"], "contact_role": typed["contact_role"]}
        vehicle = {name: typed[name] for name in ("make", "model", "plate", "vin")}
        payer = {"kind": Party.Kind.FIRM, "name": typed["payer_name"], "address": typed["payer_address"]}
        approver = {"name": typed["approver_name"], "phone": typed["approver_phone"], "limit_gross": typed["approver_limit"]}
        return {
            "customer": self.known or customer,
            "vehicle": self.vehicles.get(typed.get("vehicle", "")) or vehicle,
            "payer": payer if typed["payer_name"] else None,
            "approver": approver if typed["approver_name"] else None,
            "asked": self.asked(),
            "told": {name: what for name, what in self.told().items() if what},
            **{name: typed[name] for name in ("uid", "words", "place", "due_at", "moves")},
        }
