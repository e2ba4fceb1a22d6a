"""One job, several payers: who pays for what was opened for both."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from workshop.calc.choices import Job, PricedLine, price
from workshop.calc.money import ZERO, share

Rule = Literal["forced_entry", "per_line", "own_time"]
RULES = ("forced_entry", "per_line", "own_time")


@dataclass(frozen=True)
class Sharing:
    """Who pays each line, by what rule openings are shared, and for forced entry the line that forced it."""

    payer_of: Mapping[str, str]
    rule: Rule = "forced_entry"
    forced_by: str = ""


def split(job: Job, accepted: Collection[str], sharing: Sharing) -> dict[str, Decimal]:
    """The net of each payer, the first payer first; together exactly the net of the choice. Each document then taxes itself.

    forced_entry: who pays the line that forced entry pays every opening that one of that payer's lines keeps, the others only what
    they add (trade custom). per_line: an opening in equal parts by the lines that keep it, which is also the average over all orders
    in which the lines could have come (Shapley value). own_time: by their own minutes. Coins that are left go to the first payer,
    and so does what was opened before and no line keeps.

    Errors as `choices.price`; ValueError for a line without a payer, an unknown rule, and forced entry without its line."""
    if sharing.rule not in RULES:
        raise ValueError(f"Openings are shared by {', '.join(RULES)}, not {sharing.rule!r}.")
    if missing := [key for key in accepted if key not in sharing.payer_of]:
        raise ValueError(f"Nobody is named who pays {', '.join(missing)}.")
    if sharing.rule == "forced_entry" and sharing.forced_by not in accepted:
        raise ValueError("Name the accepted line that forced entry.")
    lines = [sharing.forced_by, *accepted] if sharing.forced_by in accepted else list(accepted)
    owed = dict.fromkeys((sharing.payer_of[key] for key in lines), ZERO)
    for line in price(job, accepted).lines:
        for payer, part in _shares(job, line, sharing, list(owed)):
            owed[payer] += part
    return owed


def _shares(job: Job, line: PricedLine, sharing: Sharing, payers: list[str]) -> list[tuple[str, Decimal]]:
    payer_of = sharing.payer_of
    if line.kind == "operation":
        return [(payer_of[line.key], line.net)]
    keepers = sorted(line.users, key=lambda user: payers.index(payer_of[user]))
    if not keepers or sharing.rule == "forced_entry":  # payers begins with the one whose line forced entry
        return [(payer_of[keepers[0]] if keepers else payers[0], line.net)]
    weights = [1] * len(keepers) if sharing.rule == "per_line" else [job.work[user].own_minutes for user in keepers]
    parts = share(line.net, weights if any(weights) else [1] * len(keepers))
    return list(zip((payer_of[user] for user in keepers), parts, strict=True))
