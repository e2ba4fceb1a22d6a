"""The verbs of a job card: intake, lines, work."""

from workshop.jobs.actions.common import Refused
from workshop.jobs.actions.intake import ADVICE, add_note, set_advice, take_enquiry
from workshop.jobs.actions.lines import PartIn, add_line, add_step, change_line, write_answers, write_line
from workshop.jobs.actions.work import close_card, finish_line, mark_ready, start_line, write_hold, write_release

EVENTS = {
    "jobs.enquiry_taken": "took the enquiry of {caller}: {words}",
    "jobs.noted": "wrote a note: {words}",
    "jobs.advised": "said about driving: {advice}. {words}",
    "jobs.step_added": "added the access step {words}, {open_minutes} min to open, {close_minutes} min to close",
    "jobs.line_added": "added line {number}: {words}",
    "jobs.line_changed": "changed line {number}: {words}",
    "jobs.line_started": "started line {number}: {words}",
    "jobs.line_finished": "finished line {number}: {words}",
    "jobs.ready": "said the vehicle is ready",
    "jobs.closed": "closed the card",
}

__all__ = [
    "ADVICE",
    "EVENTS",
    "PartIn",
    "Refused",
    "add_line",
    "add_note",
    "add_step",
    "change_line",
    "close_card",
    "finish_line",
    "mark_ready",
    "set_advice",
    "start_line",
    "take_enquiry",
    "write_answers",
    "write_hold",
    "write_line",
    "write_release",
]
