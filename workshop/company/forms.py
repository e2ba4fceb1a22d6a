"""What is typed on the owner's sheets, read or refused with a sentence."""

import re
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from importlib import import_module
from typing import Any

from django import forms
from django.core.validators import EmailValidator
from stdnum import exceptions as wrong_number

from workshop import clock
from workshop.calc.money import parse_amount
from workshop.company import queries
from workshop.company.models import Company
from workshop.pages.boxes import Words, one_of
from workshop.staff.models import User

EARLIEST = date(2000, 1, 1)
NO_DAY = "That is no day. Write it as 2026-12-04, or choose it."
SIGN_IN_NAME = re.compile(r"[a-z0-9][a-z0-9.-]{1,29}")
CURRENCY = re.compile(r"[A-Z]{3}")  # ISO 4217, alphabetic codes
RATE_CLASS = re.compile(r"[a-z][a-z -]{1,19}")


class Mail(Words):
    """A mail address, or nothing."""

    def clean(self, value: Any) -> str:
        """The address as it was typed."""
        address = super().clean(value)
        if address:
            EmailValidator("That is no mail address. It looks like name@place.example.")(address)
        return address


class Number(forms.CharField):
    """A number as a person types it, from a least to a most, with so many places."""

    def __init__(self, label: str, *, least: str, most: str, places: int = 2, hint: str = "", why: str = "") -> None:
        super().__init__(label=label, required=False, help_text=hint)
        self.least, self.most, self.places, self.why = Decimal(least), Decimal(most), places, why
        self.widget = forms.TextInput({"inputmode": "decimal" if places else "numeric", "autocomplete": "off"})

    def clean(self, value: Any) -> Any:
        """The Decimal with its places. Nothing typed is refused too."""
        typed = str(super().clean(value)).strip()
        if not typed:
            raise forms.ValidationError(f"Empty. Write a number from {self.least} to {self.most:,}.")
        try:
            number = parse_amount(typed[:40], places=self.places)
        except ValueError as refused:
            raise forms.ValidationError(str(refused)[:200]) from refused
        if not self.least <= number <= self.most:
            raise forms.ValidationError(f"{typed[:40]} is not from {self.least} to {self.most:,}. {self.why or 'Read it again.'}")
        return number


class Whole(Number):
    """A whole number."""

    def __init__(self, label: str, *, least: str, most: str, hint: str = "", why: str = "") -> None:
        super().__init__(label, least=least, most=most, places=0, hint=hint, why=why)

    def clean(self, value: Any) -> Any:
        """The number as int."""
        return int(super().clean(value))


class FromDay(forms.DateField):
    """The day from which a price holds."""

    def __init__(self) -> None:
        super().__init__(
            label="From",
            initial=clock.today,
            widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
            input_formats=["%Y-%m-%d"],
            help_text="What was sent or issued before keeps its price.",
            error_messages={"required": NO_DAY, "invalid": NO_DAY},
        )

    def clean(self, value: Any) -> Any:
        """A day from 2000 to two years ahead."""
        day = super().clean(value)
        if not EARLIEST <= day <= queries.far_off():
            raise forms.ValidationError(f"{day} is not from {EARLIEST} to {queries.far_off()}. Read the year again.")
        return day


class Sheet(forms.Form):
    """A form that knows what its sheet showed, so that nobody writes over what somebody else wrote meanwhile."""

    seen = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)

    def typed(self) -> dict[str, Any]:
        """What the verb takes."""
        return dict(self.cleaned_data)

    def show(self, seen: str) -> None:
        """The sheet has shown what is on file now: the next press counts."""
        self.data = {**{name: self.data[name] for name in self.data}, "seen": seen}


def checked_number(typed: str, word: str, check: str) -> str:
    """A registration number as its country writes it. `check` names the module of python-stdnum, "" for none.

    Raises ValidationError with a sentence that says what does not fit."""
    if not typed or not check:
        return typed
    module = import_module(f"stdnum.{check}")
    try:
        return str(module.format(module.validate(typed)))
    except wrong_number.InvalidChecksum:
        said = f"The check figures of this {word} do not fit: a figure is wrong, or two have changed places."
    except wrong_number.InvalidLength:
        figures = len(module.compact(typed))
        said = f"{figures} characters. That is not how long an {word} is: compare it with the register."
    except wrong_number.ValidationError:
        said = f"That is not how an {word} is written. Figures and blanks only."
    raise forms.ValidationError(said)


class IdentityForm(Sheet):
    """What stands on the paper of the business."""

    name = Words("Name", 120, empty="No name. Write what stands on your paper.", autocomplete="organization")
    address = Words("Address", 300, rows=3, empty="No address. Every paper needs one.")
    phone = Words("Telephone", 30, empty="No number. Customers call it from every page.", inputmode="tel")
    email = Mail("Mail", 254, inputmode="email")
    licence_line = Words("Licence line", 160, hint="As the law wants it printed. May stay empty.")
    tax_number = Words("Registration number", 40)
    bank_details = Words("Bank details", 160, hint="Printed on every invoice.")
    payment_days = Whole("Days to pay", least="0", most="180", hint="0: at once.")
    quote_days = Whole("Days a quote is open", least="1", most="180")
    paper_foot = Words("Line above the foot", 200, hint="One free line on every paper. May stay empty.")

    def __init__(self, *args: Any, registration: dict[str, str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.registration = registration
        self.fields["tax_number"].label = registration["word"]

    def clean_tax_number(self) -> str:
        """Held against the check figures of the country, where it has some."""
        return checked_number(self.cleaned_data["tax_number"], self.registration["word"], self.registration["check"])


def identity_of(company: Company) -> dict[str, Any]:
    """The fields as they are on file."""
    return {field: getattr(company, field) for field in queries.IDENTITY}


ANOTHER = "another"


class RateForm(Sheet):
    """What an hour of a class costs from a day."""

    rate_class = one_of("Class", [], "Choose a class of work.")
    new_class = Words("Name of the other class", 20, hint="Small letters, like apprentice.", autocapitalize="none")
    from_on = FromDay()
    hour_amount = Number("Hour, net", least="0.01", most="2000.00", why="Read it again: it is the price of one hour.")
    mend = forms.BooleanField(label="Put that day right", required=False, help_text="Writes over a price from the very same day.")

    def __init__(self, *args: Any, classes: Sequence[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.classes = classes
        self.fields["hour_amount"].label = "Hour, net" if queries.taxed() else "Hour"
        self.fields["rate_class"].choices = [(name, name) for name in classes] + [(ANOTHER, "another")]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Another class needs its name."""
        typed = super().clean() or {}
        if typed.get("rate_class") == ANOTHER and "new_class" in typed:
            typed["rate_class"] = typed["new_class"]
            if not RATE_CLASS.fullmatch(typed["new_class"]):
                self.add_error("new_class", "2 to 20 small letters, like apprentice. Write the name of the class.")
        typed.pop("new_class", None)
        return typed


class CallOutForm(Sheet):
    """The rule of job and way, and the way it is shown for."""

    from_on = FromDay()
    base_amount = Number("Base", least="0", most="2000.00")
    free_km = Number("Free km", least="0", most="500", places=1, hint="each way")
    km_amount = Number("Each km beyond", least="0", most="100.00")
    travel_class = one_of("Minutes are priced as", [], "Choose a class that has an hourly rate.")
    night_factor = Number("Night ×", least="1", most="5", hint="1: no surcharge.")
    weekend_factor = Number("Weekend ×", least="1", most="5", hint="The higher counts when both hold.")
    night_begins = forms.TimeField(label="Night begins", widget=forms.TimeInput({"type": "time"}, format="%H:%M"))
    night_ends = forms.TimeField(label="Night ends", widget=forms.TimeInput({"type": "time"}, format="%H:%M"))
    mend = forms.BooleanField(label="Put that day right", required=False, help_text="Writes over a rule from the very same day.")
    example_km = Number("Km each way", least="0", most="2000", places=1)
    example_minutes = Whole("Minutes each way", least="0", most="1440")

    def __init__(self, *args: Any, classes: Sequence[str], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["travel_class"].choices = [(name, name) for name in classes]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """A night has two ends."""
        typed = super().clean() or {}
        if typed.get("night_begins") and typed.get("night_begins") == typed.get("night_ends"):
            self.add_error("night_ends", "The night begins and ends at the same time. Set one of them apart.")
        return typed

    def typed(self) -> dict[str, Any]:
        """The rule without the example."""
        return {name: value for name, value in self.cleaned_data.items() if not name.startswith("example_")}


class FirstNumberForm(Sheet):
    """Where a series begins, because the numbers before were given elsewhere."""

    kind = one_of("Series", [*queries.SERIES.items()], "Choose one of the three series.")
    first = Whole("First number", least="2", most="99999", hint="The figures after the line: 501 for I26-0501.")
    reason = Words(
        "Given elsewhere in", 120, empty="Nothing written. Write where the numbers before it are.", hint="Say: paper book until 31 March."
    )


class WordingForm(Sheet):
    """The next version of a text."""

    text = Words("Text", 8000, rows=10, empty="Nothing written. A version needs words.")


class Password(forms.CharField):
    """A password to hand over: readable while it is typed, never sent back."""

    def __init__(self, label: str, *, required: bool, hint: str) -> None:
        super().__init__(
            label=label, required=required, strip=False, help_text=hint, error_messages={"required": "No password. Write one to hand over."}
        )
        keep_out = {"autocomplete": "new-password", "autocapitalize": "none", "spellcheck": "false"}
        self.widget = forms.PasswordInput(keep_out, render_value=False)
        self.widget.input_type = "text"
        self.widget.is_required = required

    def clean(self, value: Any) -> str:
        """The password as it was typed."""
        password = str(super().clean(value))
        if len(password) > 200:
            raise forms.ValidationError(f"{len(password):,} characters. At most 200.")
        return password


def sign_in_name(typed: str) -> str:
    """The name in small letters. Raises ValidationError for what is no name to sign in with."""
    name = typed.lower()
    if not SIGN_IN_NAME.fullmatch(name):
        raise forms.ValidationError("2 to 30 letters or figures without blanks, like ada or pip.tv.")
    return name


HAND_OVER = "At least 15 characters. Tell it in person: it is not shown again."
ROLES = [(role.value, str(role.label)) for role in User.Role]


class PersonForm(Sheet):
    """A person who is there: name, role, whether the account is open, a new password."""

    first_name = Words("First name", 60, empty="No name. Write who it is.")
    last_name = Words("Last name", 60)
    role = one_of("Role", ROLES, "Choose one of the four roles.")
    is_active = forms.BooleanField(label="May sign in", required=False)
    password = Password("New password", required=False, hint=f"Empty: stays as it is. {HAND_OVER}")


class NewPersonForm(forms.Form):
    """A person who is to sign in from now on."""

    first_name = Words("First name", 60, empty="No name. Write who it is.")
    last_name = Words("Last name", 60)
    username = Words(
        "Name to sign in with", 30, empty="Empty. Write a short name, like ada.", autocapitalize="none", hint="Stays as it is."
    )
    role = one_of("Role", ROLES, "Choose one of the four roles.")
    password = Password("Password", required=True, hint=HAND_OVER)

    def clean_username(self) -> str:
        """Small letters, figures, points and hyphens."""
        return sign_in_name(self.cleaned_data["username"])


class FirstForm(forms.Form):
    """All that an empty place needs before anybody can sign in."""

    name = Words("Name of the business", 120, empty="No name. Write what stands on your paper.", autocomplete="organization")
    address = Words("Address", 300, rows=3, empty="No address. Every paper needs one.", autocomplete="street-address")
    phone = Words("Telephone", 30, empty="No number. Customers call it from every page.", inputmode="tel")
    email = Mail("Mail", 254, inputmode="email")
    tax_profile_name = one_of("Where it is, and how it is registered", [], "Choose one. It cannot be changed later.")
    tax_number = Words("Registration number", 40, hint="May stay empty for now.")
    country = Words("Country", 60, hint="Only when not registered.")
    currency = Words("Currency", 3, hint="Three letters, like EUR. Only when not registered.", autocapitalize="characters")
    first_name = Words("First name", 60, empty="No name. Write who the owner is.")
    last_name = Words("Last name", 60)
    username = Words("Name to sign in with", 30, empty="Empty. Write a short name, like ada.", autocapitalize="none")
    password = Password("Password", required=True, hint="At least 15 characters. Keep it: it is not shown again.")

    def __init__(self, *args: Any, profiles: Sequence[dict[str, Any]], **more: Any) -> None:
        super().__init__(*args, **more)
        self.fields["password"].error_messages["required"] = "No password. Write the one you will sign in with."
        self.profiles = {profile["profile"]: profile for profile in profiles}
        self.fields["tax_profile_name"].choices = [(name, each["words"]) for name, each in self.profiles.items()]  # type: ignore[attr-defined]

    def clean_username(self) -> str:
        """Small letters, figures, points and hyphens."""
        return sign_in_name(self.cleaned_data["username"])

    def clean(self) -> dict[str, Any]:
        """The number held against its country's check figures; country and currency where the profile has none."""
        typed = super().clean() or {}
        profile = self.profiles.get(typed.get("tax_profile_name", ""))
        if profile and "tax_number" in typed:
            try:
                typed["tax_number"] = checked_number(typed["tax_number"], profile["registration"]["word"], profile["registration"]["check"])
            except forms.ValidationError as wrong:
                self.add_error("tax_number", wrong)
        if profile and not profile["country"]:
            if "country" in typed and not typed["country"]:
                self.add_error("country", "No country. It stands on your paper.")
            if "currency" in typed and not CURRENCY.fullmatch(typed["currency"].upper()):
                self.add_error("currency", "Three letters, like EUR or AUD: the code of the money you are paid in.")
        return typed

    def business(self) -> dict[str, Any]:
        """What set_up takes. Country and currency of a profile that has its own are the profile's."""
        typed = self.cleaned_data
        own = ("name", "address", "phone", "email", "tax_profile_name", "tax_number")
        place = {} if self.profiles[typed["tax_profile_name"]]["country"] else {"country": typed["country"]}
        return {**{name: typed[name] for name in own}, **place, **({"currency": typed["currency"].upper()} if place else {})}

    def owner(self) -> dict[str, str]:
        """What add_person takes, but the role."""
        return {name: self.cleaned_data[name] for name in ("first_name", "last_name", "username", "password")}


def person_of(user: User) -> dict[str, Any]:
    """The fields as they are on file."""
    return {field: getattr(user, field) for field in ("first_name", "last_name", "role", "is_active")}
