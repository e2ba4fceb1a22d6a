"""Pages of a card: `cards` the sheet and its buttons, `enquiries` calls and complaints, `lines` lines and access steps."""

from workshop.jobs.views.cards import advise, card, close, finish, note, ready, start
from workshop.jobs.views.enquiries import complaint_new, enquiry, known, outcome
from workshop.jobs.views.lines import line, line_new, step_new

__all__ = [
    "advise",
    "card",
    "close",
    "complaint_new",
    "enquiry",
    "finish",
    "known",
    "line",
    "line_new",
    "note",
    "outcome",
    "ready",
    "start",
    "step_new",
]
