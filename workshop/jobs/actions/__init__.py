"""The verbs of a job card: intake, lines, work, what is put right."""

from workshop.catalogue.actions import PartIn
from workshop.jobs.actions.access import add_strip, bag_step, begin_closing, end_closing, open_step
from workshop.jobs.actions.catalogue import Put, put_kit, put_operation, save_kit, save_operation
from workshop.jobs.actions.common import Refused
from workshop.jobs.actions.complaints import TOLD, add_complaint, complete_complaint, set_outcome
from workshop.jobs.actions.facts import change_facts, seen_facts
from workshop.jobs.actions.intake import ADVICE, STOP_SIGNS, Asked, add_note, set_advice, take_enquiry
from workshop.jobs.actions.leaving import come_back, leave_vehicle
from workshop.jobs.actions.lines import add_line, add_step, change_line, write_answers, write_line
from workshop.jobs.actions.mend import cancel_card, change_complaint, lock_both, reason_of, strike_line, write_again
from workshop.jobs.actions.merge import merge_parties, merge_vehicles
from workshop.jobs.actions.spells import correct_spell, count_in_hand, fit_new, start_spell, stop_spell
from workshop.jobs.actions.work import close_card, finish_line, mark_ready, start_line, write_hold, write_release

EVENTS = {
    "jobs.enquiry_taken": "took the enquiry of {caller}: {words}",
    "jobs.noted": "wrote a note: {words}",
    "jobs.advised": "said about driving: {advice}. {words}",
    "jobs.step_added": "added the access step {words}, {open_minutes} min to open, {close_minutes} min to close",
    "jobs.line_added": "added line {number}: {words}",
    "jobs.line_changed": "changed line {number}: {words}",
    "jobs.operation_kept": "kept line {number} for next time: {words}",
    "jobs.kit_kept": "kept lines {numbers} as the kit {words}",
    "jobs.put_on": "put {words} on the card from the catalogue: lines {numbers}",
    "jobs.line_started": "started line {number}: {words}",
    "jobs.line_finished": "finished line {number}: {words}",
    "jobs.spell_started": "went on with line {number}: {words}",
    "jobs.spell_changed": "left {left} for line {number}: {words}",
    "jobs.spell_stopped": "stopped work on line {number}: {words}",
    "jobs.spell_corrected": "put the time of {person} on line {number} right, from {was} to {now}: {reason}",
    "jobs.fitted_new": "ticked on line {number} that new ones are in: {words}",
    "jobs.fitted_new_taken_back": "took back on line {number} that new ones are in: {words}",
    "jobs.counted": "counted {in_hand} in hand for line {number}, which needs {words}",
    "jobs.step_opened": "opened {words}{bags}{again}",
    "jobs.step_bagged": "wrote down the bags of {words}: {bags}",
    "jobs.step_closing": "began to close {words}, {photo}",
    "jobs.step_closed": "closed {words}",
    "jobs.strip_added": "added line {number}, a strip: {words}. It opens {steps}",
    "jobs.left": "left the vehicle: {state}. On: {supports}. Keys: {keys}. Told: {told}.{no_start}",
    "jobs.came_back": "came back to the vehicle: {look}",
    "jobs.facts_changed": "changed {what}.{stop}",
    "jobs.ready": "said the vehicle is ready",
    "jobs.closed": "closed the card",
    "jobs.cancelled": "cancelled the card: {reason}",
    "jobs.line_struck": "struck line {number}, {words}, which was {was}: {reason}",
    "jobs.complaint_changed": "changed the customer’s words from “{old}” to “{words}”: {reason}",
    "jobs.complaint_added": "wrote down one more complaint: {words}",
    "jobs.complaint_told": "asked about “{words}”: {told}",
    "jobs.complaint_ended": "said what came of “{words}”: {outcome}",
    "jobs.parties_merged": "merged {drop} into {keep}: {reason}",
    "jobs.vehicles_merged": "merged {drop} into {keep}: {reason}",
}

__all__ = [
    "ADVICE",
    "EVENTS",
    "STOP_SIGNS",
    "TOLD",
    "Asked",
    "PartIn",
    "Put",
    "Refused",
    "add_complaint",
    "add_line",
    "add_note",
    "add_step",
    "add_strip",
    "bag_step",
    "begin_closing",
    "cancel_card",
    "change_complaint",
    "change_facts",
    "change_line",
    "close_card",
    "come_back",
    "complete_complaint",
    "correct_spell",
    "count_in_hand",
    "end_closing",
    "finish_line",
    "fit_new",
    "leave_vehicle",
    "lock_both",
    "mark_ready",
    "merge_parties",
    "merge_vehicles",
    "open_step",
    "put_kit",
    "put_operation",
    "reason_of",
    "save_kit",
    "save_operation",
    "seen_facts",
    "set_advice",
    "set_outcome",
    "start_line",
    "start_spell",
    "stop_spell",
    "strike_line",
    "take_enquiry",
    "write_again",
    "write_answers",
    "write_hold",
    "write_line",
    "write_release",
]
