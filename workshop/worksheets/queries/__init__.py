"""Read the work sheets: `joints`, `parts` that sit in a vehicle, `remembered` deviations, follow-ups and old parts."""

from workshop.worksheets.queries.joints import good_tick, joint, joints_of, missing, workable
from workshop.worksheets.queries.parts import configuration, fitted_on_card, part, same, sitting_or_of
from workshop.worksheets.queries.remembered import (
    RECHECK,
    deviations_of,
    due,
    follow_up,
    follow_ups_of,
    last_old_parts,
    of_card,
    wheels_to_recheck,
)

__all__ = [
    "RECHECK",
    "configuration",
    "deviations_of",
    "due",
    "fitted_on_card",
    "follow_up",
    "follow_ups_of",
    "good_tick",
    "joint",
    "joints_of",
    "last_old_parts",
    "missing",
    "of_card",
    "part",
    "same",
    "sitting_or_of",
    "wheels_to_recheck",
    "workable",
]
