"""Pages of a card: `cards` the sheet and its buttons, `enquiries` calls and complaints, `lines` lines and access steps, `work` the work
sheet, `access` opening, closing, strips and leaving."""

from workshop.jobs.views.access import bags, closed, come_back, covers, leave, open_step, strip_new
from workshop.jobs.views.cards import advise, card, close, closing, finish, note, ready, start
from workshop.jobs.views.catalogue import catalogue, kit_new, operation_new, put_on
from workshop.jobs.views.enquiries import complaint_new, enquiry, facts, known, outcome
from workshop.jobs.views.lines import line, line_new, step_new
from workshop.jobs.views.work import fitted_new, in_hand, spell, stop_work, work

__all__ = [
    "advise",
    "bags",
    "card",
    "catalogue",
    "close",
    "closed",
    "closing",
    "come_back",
    "complaint_new",
    "covers",
    "enquiry",
    "facts",
    "finish",
    "fitted_new",
    "in_hand",
    "kit_new",
    "known",
    "leave",
    "line",
    "line_new",
    "note",
    "open_step",
    "operation_new",
    "outcome",
    "put_on",
    "ready",
    "spell",
    "start",
    "step_new",
    "stop_work",
    "strip_new",
    "work",
]
