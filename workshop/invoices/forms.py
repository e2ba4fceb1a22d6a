"""What is typed to issue an invoice, to take a payment, to credit; read or refused with a sentence."""

import uuid
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms

from workshop import clock
from workshop.calc.money import ZERO, parse_amount
from workshop.company.queries import taxed
from workshop.invoices.models import DocLine, Document, Payment
from workshop.jobs.models import Line
from workshop.pages.boxes import LOST, Plain

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
    """Money as a person types it: 1,234.50 or 1234,50. `optional`: nothing typed is 0.00."""

    def __init__(self, label: str, *, optional: bool = False, hint: str = "") -> None:
        box = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(label=label, required=False, widget=box, help_text=hint)
        self.optional = optional

    def clean(self, value: Any) -> Any:
        """The amount with two places. Nothing typed is refused too, with the same kind of sentence, unless it may be left out."""
        typed = str(super().clean(value))[:40]
        if self.optional and not typed.strip():
            return ZERO
        try:
            return parse_amount(typed)
        except ValueError as refused:
            raise forms.ValidationError(str(refused)) from refused


class RequestForm(forms.Form):
    """A form that counts once, however often it is sent: the page gives it a number of its own."""

    use_required_attribute = False  # the browser would refuse in its own words
    request_uid = forms.UUIDField(
        widget=forms.HiddenInput, initial=uuid.uuid4, label="This page", error_messages={"required": LOST, "invalid": LOST}
    )


def mail_box(hint: str) -> forms.EmailField:
    """Where a letter goes; empty for none."""
    return forms.EmailField(
        label="Mail to",
        required=False,
        help_text=hint,
        error_messages={"invalid": "No mail address like that. It has one @ and a dot behind it."},
    )


class SendForm(RequestForm):
    """Where the letter with an invoice's link goes."""

    email = mail_box("The letter carries the link to the invoice. Empty: you pass the link on.")


class IssueForm(RequestForm):
    """The date of the invoice and, where there is a choice, the lines that stand on it; all else stands on the card."""

    issued_on = DayField("Invoice date")
    email = mail_box("With its link, once it is issued. Empty: no letter; you pass the link on.")

    def __init__(self, choices: Iterable[Line] = (), data: Any = None, **options: Any) -> None:
        """A second tap names lines that are invoiced by now: they are read, and the verb tells whether it is the same page."""
        super().__init__(data, **options)
        rows = [(str(line.number), f"{line.number} {line.words}") for line in choices]
        named = [number for number in data.getlist("numbers") if number.isdecimal()] if data else []
        if len(rows) > 1 or named:
            rows += [(number, number) for number in named if number not in dict(rows)]
            self.fields["numbers"] = forms.MultipleChoiceField(
                label="Lines to invoice now",
                choices=rows,
                widget=forms.CheckboxSelectMultiple,
                initial=[number for number, _ in rows],
                error_messages={
                    "required": "No line is ticked. Tick what to invoice now.",
                    "invalid_choice": "That line cannot be invoiced now.",
                },
            )

    def numbers(self) -> list[int] | None:
        """The lines that were ticked, None where there was nothing to choose."""
        typed = getattr(self, "cleaned_data", {}).get("numbers")
        return None if typed is None else sorted(int(number) for number in typed)


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
    reference = Plain(
        label="Reference", required=False, max_length=80, help_text="As on the bank line or the card slip.",
        error_messages={"max_length": "At most 80 characters: shorten it."},
        widget=forms.TextInput({"autocomplete": "off"}),
    )  # fmt: skip
    fee = AmountField("Card fee kept back", optional=True, hint="Of a card payment; it counts as paid and is posted apart.")
    keep_rest = forms.BooleanField(label="Keep what is too much as credit", required=False)


class TakeForm(PayForm):
    """A payment on several invoices of one payer."""

    def __init__(self, documents: Iterable[Document], data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.fields["documents"] = _documents(documents, "Pays, the longest due first")


class UseForm(RequestForm):
    """Credit laid on invoices."""

    def __init__(self, documents: Iterable[Document], data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.fields["documents"] = _documents(documents, "Use it on", "No invoice is ticked. Tick what it pays.")


def _documents(documents: Iterable[Document], label: str, empty: str = "") -> forms.MultipleChoiceField:
    rows = [(str(each.uid), f"{each.number}, {getattr(each, 'left_amount', ZERO):,} open") for each in documents]
    return forms.MultipleChoiceField(
        label=label,
        choices=rows,
        required=bool(empty),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": empty, "invalid_choice": "One of them is not open any more. Look at the list again."},
    )


class BackForm(RequestForm):
    """Money that goes back to a customer."""

    amount = AmountField("Amount")
    method = PayForm.base_fields["method"]
    paid_on = DayField("Went out on")
    reference = PayForm.base_fields["reference"]


class RemindForm(RequestForm):
    """Where the letter about what is due goes."""

    email = forms.EmailField(
        label="Mail to", required=False, error_messages={"invalid": "No mail address like that. It has one @ and a dot behind it."}
    )


class SpanForm(forms.Form):
    """First and last day of a statement, both counted in."""

    use_required_attribute = False
    from_on = DayField("First day")
    to_on = DayField("Last day")

    def clean(self) -> dict[str, Any]:
        """The two days in order."""
        typed = super().clean() or {}
        if typed.get("from_on") and typed.get("to_on") and typed["from_on"] > typed["to_on"]:
            self.add_error("to_on", f"{typed['to_on']} comes before the first day, {typed['from_on']}. Turn them round.")
        return typed


class CreditForm(RequestForm):
    """Why an invoice is taken back."""

    reason = Plain(
        label="Why", max_length=200, help_text="Printed on the credit note.",
        error_messages={"required": "Write why, in words the customer can read.", "max_length": "At most 200 characters: shorten it."},
        widget=forms.TextInput({"autocomplete": "off"}),
    )  # fmt: skip


class CreditLinesForm(CreditForm):
    """How much of which line is credited, without tax: a box a line, line1, line2 and so on."""

    def __init__(self, left: Iterable[tuple[DocLine, Decimal]], data: Any = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.places = {}
        without = "Without tax; " if taxed() else ""
        for line, amount in left:
            self.places[f"line{line.position}"] = line.position
            self.fields[f"line{line.position}"] = AmountField(line.words, optional=True, hint=f"{without}{amount:,} at most.")
        self.order_fields([*self.places])

    def amounts(self) -> dict[int, Decimal]:
        """What was typed beside the lines, by their position."""
        return {place: self.cleaned_data[name] for name, place in self.places.items() if self.cleaned_data.get(name)}


def day_of(form: IssueForm) -> date:
    """The date that was typed, today while it cannot be read: what the preview is drawn for."""
    typed: date | None = getattr(form, "cleaned_data", {}).get("issued_on")
    return typed or clock.today()
