"""Pages of the work sheets: `joints`, fitted `parts`, and what is `remembered`."""

from workshop.worksheets.views.joints import joint_new, joint_strike, tick, tightening, value_new
from workshop.worksheets.views.parts import fit, let_go, part_correct, parts, take_off, teach_in, teach_in_all
from workshop.worksheets.views.remembered import close_follow_up, deviation_new, follow_ups

__all__ = [
    "close_follow_up",
    "deviation_new",
    "fit",
    "follow_ups",
    "joint_new",
    "joint_strike",
    "let_go",
    "part_correct",
    "parts",
    "take_off",
    "teach_in",
    "teach_in_all",
    "tick",
    "tightening",
    "value_new",
]
