"""What is typed about fault codes: many at once, one on each line."""

import re
from typing import Any

from django import forms

from workshop.calc import faultcodes
from workshop.inspections.actions import CodeIn
from workshop.inspections.models import CodeRead, CodesCleared, FaultCode
from workshop.pages.boxes import Made, Words, one_of

MOST_CODES = 60
STATUS = re.compile(rf"\b({'|'.join(FaultCode.Status.values)})\b", re.IGNORECASE)
HINT = "P0301 misfire. SPN 190 FMI 2. Add pending or permanent. A line that ends in a colon names the module of those below."


class Codes(Words):
    """Many codes, one on each line; read as CodeIn."""

    def clean(self, value: Any) -> Any:
        """The codes in their order; the same code of the same module counts once."""
        found: dict[tuple[str, str, str], CodeIn] = {}
        module = ""
        for line in filter(None, (" ".join(line.split()) for line in super().clean(value).split("\n"))):
            if line.endswith(":"):
                module = _fits(line[:-1].strip(), FaultCode._meta.get_field("module").max_length, line)
            else:
                one = _code(line, module)
                found.setdefault((module.casefold(), one.code, one.status), one)
        if len(found) > MOST_CODES:
            raise forms.ValidationError(f"{len(found)} codes. At most {MOST_CODES} in one read: save the rest as another.")
        return list(found.values())


def _code(line: str, module: str) -> CodeIn:
    status = STATUS.search(line)
    bare = STATUS.sub("", line, count=1).strip(" ,;()") if status else line
    led = faultcodes.written(bare or line)
    code, words = _fits(led.code, 40, line), _fits(led.rest, 160, line)
    return CodeIn(code, led.form, module, words, status[1].lower() if status else FaultCode.Status.STORED)


def _fits(text: str, most: int | None, line: str) -> str:
    if most and len(text) > most:
        raise forms.ValidationError(f"“{line[:40]}…” is too long for one code. Put each code on a line of its own, its words behind it.")
    return text


class CodesForm(Made):
    """One reading of all fault codes."""

    moment = one_of("Read", CodeRead.Moment.choices, "Choose one: before the work, or after the work.")
    codes = Codes("Codes, one on each line", 6000, rows=6, hint=HINT, autocapitalize="characters", autocomplete="off", spellcheck="false")
    none = forms.BooleanField(label="None stored", required=False)
    tool = Words("Read with", 120)
    freeze = Words("What stood beside them", 1000, rows=2, hint="Freeze frame: speed, load, temperature, distance.")

    def clean(self) -> dict[str, Any]:
        """Either codes or the word that there are none."""
        typed = self.cleaned_data
        if "codes" not in self.errors and bool(typed.get("codes")) == bool(typed.get("none")):
            wrong = "Codes, and none stored? Take out one of them." if typed.get("none") else "No code. Write them, or tick none stored."
            self.add_error("codes", wrong)
        return typed

    def read(self) -> dict[str, Any]:
        """The arguments of read_codes but actor and card. Call it on a good form only."""
        return {name: self.cleaned_data[name] for name in ("codes", "moment", "tool", "freeze", "uid")}


class ClearForm(Made):
    """The codes are gone from the vehicle."""

    how = one_of("How", CodesCleared.How.choices, "Choose one: cleared with the tool, or battery taken off.")
