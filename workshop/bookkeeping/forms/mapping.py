"""The accounts of all cases, a box each, and one case more."""

from collections.abc import Sequence
from typing import Any

from django import forms

from workshop.bookkeeping import actions, queries
from workshop.bookkeeping.queries.accounts import ROLES, SOLD
from workshop.company.queries import tax_rates
from workshop.pages.boxes import Words

ANY = ("", "any")


class AccountBox(Words):
    """The name of an account, or nothing."""

    def __init__(self, label: str, *, hint: str = "") -> None:
        super().__init__(label, 80, hint=hint, autocapitalize="off", spellcheck="false")

    def clean(self, value: Any) -> str:
        """The name as it was typed."""
        name = super().clean(value)
        try:
            return actions.require_account(name) if name else ""
        except actions.Refused as refused:
            raise forms.ValidationError(str(refused)) from refused


class MappingForm(forms.Form):
    """A box for each place; `another_…` gives one more case an account."""

    use_required_attribute = False
    seen = forms.CharField(widget=forms.HiddenInput, required=False, max_length=40)

    def __init__(self, data: Any = None, *, places: Sequence[queries.Place]) -> None:
        super().__init__(data, initial={"seen": queries.seen_of_accounts(), **{place.key: place.name for place in places}})
        self.places = places
        for place in places:
            count = f"{place.postings:,} posting{'' if place.postings == 1 else 's'}" if place.postings else ""
            self.fields[place.key] = AccountBox(place.words, hint=count)
        codes = {rate.code: rate.code for rate in tax_rates()}
        kinds = {"private": "private", "firm": "firm"}
        roles = {place.case[0]: place.case[0] for place in places} | {
            role: words for role, words in ROLES.items() if codes or role != "output_tax"
        }
        self.fields["another_role"] = _choice("What it stands for", roles, "none")
        self.fields["another_line_kind"] = _choice("What was sold", {kind: kind.replace("_", " ") for kind in SOLD}, "any")
        if codes:
            self.fields["another_tax_code"] = _choice("Tax code", codes, "any")
        self.fields["another_customer_kind"] = _choice("Customer", kinds, "any")
        self.fields["another_name"] = AccountBox("Its account")

    def missing(self) -> list[forms.BoundField]:
        """The boxes of cases without an account."""
        return [self[place.key] for place in self.places if not place.name]

    def kept(self) -> list[forms.BoundField]:
        """The boxes of cases with one."""
        return [self[place.key] for place in self.places if place.name]

    def another(self) -> list[forms.BoundField]:
        """The boxes of one more case."""
        return [self[name] for name in self.fields if name.startswith("another_")]

    def clean(self) -> dict[str, Any]:
        """One more case has a role and an account, or neither, and has none yet."""
        typed = super().clean() or {}
        case, name = self._another(typed), typed.get("another_name", "")
        if case[0] and not name and "another_name" not in self.errors:
            self.add_error("another_name", "Empty. Write the account of this case, like Income:Labour.")
        if name and not case[0]:
            self.add_error("another_role", "Choose what the account stands for.")
        if case[0] and any(place.case == case for place in self.places):
            self.add_error("another_role", "This case is in the list above. Write its account there.")
        return typed

    def _another(self, typed: dict[str, Any]) -> queries.Case:
        role, kind, code, customer = (typed.get(f"another_{name}", "") for name in queries.CASE)
        return (role, kind, code, customer)

    def rows(self) -> list[dict[str, str]]:
        """What was typed, as map_accounts takes it."""
        typed = self.cleaned_data
        rows = [{**dict(zip(queries.CASE, place.case, strict=True)), "name": typed[place.key]} for place in self.places]
        if typed["another_name"]:
            rows.append({**dict(zip(queries.CASE, self._another(typed), strict=True)), "name": typed["another_name"]})
        return rows


def _choice(label: str, choices: dict[str, str], nothing: str) -> forms.ChoiceField:
    wrong = {"invalid_choice": "Choose one of the list."}
    return forms.ChoiceField(label=label, choices=[("", nothing), *choices.items()], required=False, error_messages=wrong)
