"""Sheets of the walk-round: `listing` the business's own list, `walking` a walk on a card."""

from workshop.rounds.views.listing import grow, list_row, move, restore, retire, rows, take
from workshop.rounds.views.walking import begin, end, judge, rest, row, walk

__all__ = ["begin", "end", "grow", "judge", "list_row", "move", "rest", "restore", "retire", "row", "rows", "take", "walk"]
