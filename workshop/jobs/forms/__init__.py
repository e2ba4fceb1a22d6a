"""What is typed on the sheets of a card, read or refused with a sentence."""

from workshop.jobs.forms.enquiry import ComplaintForm, EnquiryForm, FactsForm
from workshop.jobs.forms.lines import LineForm, StepForm, rows_in, typed_line
from workshop.jobs.forms.work import BackForm, LeaveForm, SpellForm, StripForm, counted

__all__ = [
    "BackForm",
    "ComplaintForm",
    "EnquiryForm",
    "FactsForm",
    "LeaveForm",
    "LineForm",
    "SpellForm",
    "StepForm",
    "StripForm",
    "counted",
    "rows_in",
    "typed_line",
]
