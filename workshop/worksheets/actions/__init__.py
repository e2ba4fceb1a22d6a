"""The verbs of the work sheets: joints, fitted parts, and what is remembered for later."""

from workshop.worksheets.actions.joints import add_joint, give_value, strike_joint, tick_joint
from workshop.worksheets.actions.parts import PartIn, correct_part, fit_parts, let_go, take_off, teach_in, teach_in_all
from workshop.worksheets.actions.remembered import FollowUpIn, add_deviation, add_follow_up, answer_old_parts, close_follow_up

EVENTS = {
    "worksheets.joint_added": "added the joint {component} to line {number}, {value}",
    "worksheets.value_given": "gave the joint {component} of line {number} the value {value}",
    "worksheets.ticked": "tightened {component} of line {number}: the tool {tool} showed {shown}",
    "worksheets.joint_struck": "took the joint {component} of line {number} off the sheet: {reason}",
    "worksheets.parts_fitted": "fitted {part}: {where}{ended}",
    "worksheets.part_taken_off": "took off {part}{became}",
    "worksheets.taught_in": "taught in {part}: {words}",
    "worksheets.part_corrected": "corrected {part}: {changed}. {reason}",
    "worksheets.let_go": "lets the vehicle go although {part} is not taught in: {reason}",
    "worksheets.deviated": "wrote a deviation: {fitted_value} instead of {makers_value}, agreed by {agreed_by}. {reason}",
    "worksheets.follow_up_added": "wrote down what is to be looked at again: {words}{due}",
    "worksheets.follow_up_closed": "closed “{words}” as {state}: {said}",
    "worksheets.old_parts": "said of the old parts: {outcome}. {words}",
}

__all__ = [
    "EVENTS",
    "FollowUpIn",
    "PartIn",
    "add_deviation",
    "add_follow_up",
    "add_joint",
    "answer_old_parts",
    "close_follow_up",
    "correct_part",
    "fit_parts",
    "give_value",
    "let_go",
    "strike_joint",
    "take_off",
    "teach_in",
    "teach_in_all",
    "tick_joint",
]
