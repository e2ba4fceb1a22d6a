"""What is typed to issue an invoice, to take a payment, to credit; read or refused with a sentence."""

import uuid
from datetime import date
from typing import Any

from django import forms

from workshop import clock
from workshop.calc.money import parse_amount
from workshop.invoices.models import Payment

NO_DAY = "Write the day as 2026-12-04, or choose it."


class DayField(forms.DateField):
    """A day. `required` is the sentence when it is left empty."""

    def __init__(self, label: str, hint: str = "") -> None:
        super().__init__(
            label=label,
            help_text=hint,
            initial=clock.today,
            widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
            input_formats=["%Y-%m-%d"],
            error_messages={"required": NO_DAY, "invalid": NO_DAY},
        )


class AmountField(forms.CharField):
    """Money as a person types it: 1,234.50 or 1234,50."""

    def __init__(self, label: str) -> None:
        super().__init__(label=label, required=False, widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}))

    def clean(self, value: Any) -> Any:
        """The amount with two places. Nothing typed is refused too, with the same kind of sentence."""
        try:
            return parse_amount(str(super().clean(value))[:40])
        except ValueError as refused:
            raise forms.ValidationError(str(refused)) from refused


class RequestForm(forms.Form):
    """A form that counts once, however often it is sent: the page gives it a number of its own."""

    use_required_attribute = False  # the browser would refuse in its own words
    request_uid = forms.UUIDField(widget=forms.HiddenInput, initial=uuid.uuid4, error_messages={"invalid": "Open the page again."})


class IssueForm(RequestForm):
    """The date of the invoice; all else stands on the card."""

    issued_on = DayField("Invoice date")


class PayForm(RequestForm):
    """A payment on one invoice."""

    amount = AmountField("Amount")
    method = forms.ChoiceField(
        label="How",
        choices=Payment.Method.choices,
        widget=forms.RadioSelect,
        error_messages=dict.fromkeys(("required", "invalid_choice"), "Choose how it was paid."),
    )
    paid_on = DayField("Came in on")
    reference = forms.CharField(
        label="Reference", required=False, max_length=80, help_text="As on the bank line or the card slip.",
        error_messages={"max_length": "At most 80 characters: shorten it."},
        widget=forms.TextInput({"autocomplete": "off"}),
    )  # fmt: skip


class CreditForm(RequestForm):
    """Why an invoice is taken back."""

    reason = forms.CharField(
        label="Why", max_length=200, help_text="Printed on the credit note.",
        error_messages={"required": "Write why, in words the customer can read.", "max_length": "At most 200 characters: shorten it."},
        widget=forms.TextInput({"autocomplete": "off"}),
    )  # fmt: skip


def day_of(form: IssueForm) -> date:
    """The date that was typed, today while it cannot be read: what the preview is drawn for."""
    typed: date | None = getattr(form, "cleaned_data", {}).get("issued_on")
    return typed or clock.today()
