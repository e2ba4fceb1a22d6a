"""What is typed on the sheets of a card, read or refused with a sentence."""

from workshop.jobs.forms.enquiry import ComplaintForm, EnquiryForm
from workshop.jobs.forms.lines import LineForm, StepForm, rows_in, typed_line

__all__ = ["ComplaintForm", "EnquiryForm", "LineForm", "StepForm", "rows_in", "typed_line"]
