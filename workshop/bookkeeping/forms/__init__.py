"""What is typed on the sheets of the books, read or refused with a sentence."""

from workshop.bookkeeping.forms.close import CloseForm, ReasonForm
from workshop.bookkeeping.forms.mapping import MappingForm
from workshop.bookkeeping.forms.opening import OpeningForm
from workshop.bookkeeping.forms.span import SpanForm, asked_span, usual_span

__all__ = ["CloseForm", "MappingForm", "OpeningForm", "ReasonForm", "SpanForm", "asked_span", "usual_span"]
