"""Keep the list; walk round a vehicle by it."""

from workshop.rounds.actions.listing import add_row, change_row, grow_row, move_row, restore_row, retire_row, take_usual
from workshop.rounds.actions.walking import begin_round, end_round, judge_rest, judge_row, write_down

EVENTS = {
    "rounds.usual_taken": "took the usual walk-round list, {rows} rows",
    "rounds.row_added": "put “{words}” ({system}) on the walk-round list",
    "rounds.row_grown": "put “{words}” ({system}) on the walk-round list, from a finding on card {card}",
    "rounds.row_changed": "changed “{was}” on the walk-round list: {words} ({system})",
    "rounds.row_moved": "moved “{words}” {way} on the walk-round list",
    "rounds.row_retired": "took “{words}” off the walk-round list",
    "rounds.row_restored": "put “{words}” back on the walk-round list",
    "rounds.begun": "began a walk-round of {rows} rows",
    "rounds.judged": "walk-round, {words}: {state}{kept}",
    "rounds.rest_good": "walk-round, the rest of {system}: good ({rows})",
    "rounds.ended": "ended the walk-round: {looked} of {total} looked at{unseen}",
}

__all__ = [
    "EVENTS",
    "add_row",
    "begin_round",
    "change_row",
    "end_round",
    "grow_row",
    "judge_rest",
    "judge_row",
    "move_row",
    "restore_row",
    "retire_row",
    "take_usual",
    "write_down",
]
