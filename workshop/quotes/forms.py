"""What the customer and the office send about a quote."""

import re
import uuid
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext_lazy as _

from workshop.pages.boxes import LOST, Plain
from workshop.quotes.queries import ACCEPT, NOT_NOW, Body

ANSWERS = [(ACCEPT, _("Accept")), (NOT_NOW, _("Not now"))]
STANDINGS = [("owner", _("the owner")), ("authorised", _("authorised by the owner"))]
SILENT = _("No answer yet. Choose Accept or Not now.")


class LinesForm(forms.Form):
    """An answer to each offered line: boxes line1, line2 and so on. A box for a line that the quote does not offer is refused."""

    # The browser's own check would stop "Add up" and a question for want of a name; ours says what is missing, beside the box.
    use_required_attribute = False

    def __init__(self, page: Body, data: MultiValueDict[str, str] | None = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.numbers = [int(line["number"]) for line in page["offered"]]
        for line in page["offered"]:
            self.fields[f"line{line['number']}"] = forms.ChoiceField(
                choices=ANSWERS,
                widget=forms.RadioSelect,
                label=_("Line %(number)s, %(words)s") % {"number": line["number"], "words": line["words"]},
                error_messages={"required": SILENT, "invalid_choice": SILENT},
            )

        self.order_fields([f"line{number}" for number in self.numbers])

    @property
    def answers(self) -> dict[int, str]:
        """What was chosen so far, whether or not the form is whole. No answer is none."""
        said = {number: str(self.data.get(f"line{number}", "")) for number in self.numbers}
        return {number: answer for number, answer in said.items() if answer in dict(ANSWERS)}

    def clean(self) -> dict[str, Any]:
        sent = {int(found[1]) for name in self.data if (found := re.fullmatch(r"line(\d{1,5})", name))}
        if strangers := sorted(sent - set(self.numbers)):
            numbers = ", ".join(map(str, strangers))
            raise ValidationError(_("This quote has no line %(numbers)s. Nothing was ordered."), params={"numbers": numbers})
        return super().clean() or {}


class GoAheadForm(LinesForm):
    """The customer's answer: lines, name, and by what right."""

    name = Plain(
        label=_("Your name"),
        max_length=120,
        error_messages={"required": _("Nobody is named. Write who orders.")},
        widget=forms.TextInput({"autocomplete": "name"}),
    )
    standing = forms.ChoiceField(
        label=_("I am"),
        choices=STANDINGS,
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose one: only the owner, or somebody the owner asked, can order.")},
    )


class OrderForm(GoAheadForm):
    """What the review page sends on: the same, with its own number so that it counts once, and the total that was shown."""

    request_uid = forms.UUIDField(widget=forms.HiddenInput)
    total = forms.DecimalField(widget=forms.HiddenInput)


class PhonedForm(LinesForm):
    """An answer heard on the telephone."""

    name = Plain(label="Spoke with", max_length=120, error_messages={"required": "Nobody is named. Write who said yes or no."})
    number_dialled = Plain(
        label="Number dialled", max_length=30, error_messages={"required": "No number. Write the one you called: it is part of the proof."}
    )
    read_out = forms.BooleanField(
        label="Lines, what happens if they are left, and the total were read out",
        error_messages={"required": "Read them out, then tick."},
    )
    request_uid = forms.UUIDField(widget=forms.HiddenInput)


class SendForm(forms.Form):
    """Which lines go to whom, open until when."""

    request_uid = forms.UUIDField(
        widget=forms.HiddenInput, initial=uuid.uuid4, label="This page", error_messages={"required": LOST, "invalid": LOST}
    )
    for_whom = Plain(label="For", max_length=120, error_messages={"required": "Nobody is named. Write who gets it."})
    email = forms.EmailField(
        label="Mail to",
        required=False,
        help_text="Empty: no mail; you pass the link on.",
        error_messages={"invalid": "No mail address like that. It has one @ and a dot behind it."},
    )
    expires_on = forms.DateField(
        label="Open until",
        widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"),
        help_text="Until 18:00 on that day.",
        error_messages={"required": "No day. Choose until when the prices hold.", "invalid": "No such day."},
    )
    numbers = forms.MultipleChoiceField(
        label="Lines to offer",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "No line is ticked. Tick what to offer.", "invalid_choice": "There is no such line to offer."},
    )

    def __init__(self, lines: list[tuple[int, str]], data: MultiValueDict[str, str] | None = None, **options: Any) -> None:
        super().__init__(data, **options)
        self.fields["numbers"].choices = lines  # type: ignore[attr-defined]
