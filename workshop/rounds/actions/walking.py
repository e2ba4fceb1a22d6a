"""Walk round a vehicle: begin, judge row by row, write down what is not good, end."""

import uuid as uuids
from collections.abc import Sequence
from decimal import Decimal

from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor
from workshop.inspections.actions import add_finding
from workshop.inspections.models import Finding
from workshop.jobs.actions import Refused
from workshop.jobs.actions.common import locked_open, tell
from workshop.jobs.models import Card
from workshop.pages.templatetags.pages_format import moment
from workshop.photos.models import Photo
from workshop.rounds import queries
from workshop.rounds.models import Round, RoundRow

State = RoundRow.State
BY_TAP = (State.GOOD, State.NA, State.UNSEEN)  # everything else is written down
WRITTEN = (State.GOOD, State.WATCH, State.ACT, State.STOP)


@transaction.atomic
def begin_round(actor: Actor, card: Card) -> Round:
    """A walk-round with the rows of the list as they are now; the open one when there is one, unrecorded.

    Refused for a card that is over and for an empty list."""
    now = locked_open(card)
    if there := Round.objects.filter(card=now, ended_at=None).first():
        return there
    rows = [row for _, group in queries.by_system(queries.listed()) for row in group]
    if not rows:
        raise Refused("The walk-round list is empty. Take the usual list or write one, then begin.")
    made = Round.objects.create(card=now, by=actor.name, begun_at=clock.now())
    copies = ({name: getattr(row, name) for name in queries.COPIED} for row in rows)
    RoundRow.objects.bulk_create(RoundRow(round=made, position=position, **copy) for position, copy in enumerate(copies, 1))
    tell("rounds.begun", actor, now, rows=len(rows))
    return made


def refuse_ended(walk: Round) -> None:
    """Nothing, while the walk goes on. Refused once it has ended."""
    if walk.ended_at:
        raise Refused(f"This walk-round ended on {moment(walk.ended_at)}. Begin another for a new look.")


@transaction.atomic
def judge_row(actor: Actor, row: RoundRow, state: str) -> bool:
    """Good, not applicable, or back to not looked at; whether that changed anything. What is so already is not recorded again.

    A finding that stands behind the row stays on the card. Refused for another state, an ended walk-round, a card that is over, and
    where a finding was written down and something else than "not looked at" is tapped."""
    if state not in BY_TAP:
        raise Refused("Watch, act and stop are written down: open the row.")
    card = locked_open(row.round.card)
    rows = RoundRow.objects.filter(pk=row.pk, round__ended_at=None).exclude(state=state)
    if state != State.UNSEEN:
        rows = rows.filter(finding=None)
    if not rows.update(state=state, finding=None, **_stamp(actor, state)):
        return _refuse_unchanged(row, state)
    kept = f". The finding “{row.finding.words}” stays on the card" if row.finding else ""
    tell("rounds.judged", actor, card, words=row.words, state=State(state).label, kept=kept)
    return True


def _stamp(actor: Actor, state: str) -> dict[str, object]:
    """Who looked, and when; nobody for a row that is not looked at."""
    return {"by": "", "at": None} if state == State.UNSEEN else {"by": actor.name, "at": clock.now()}


def _refuse_unchanged(row: RoundRow, state: str) -> bool:
    """False for a row that is so already; Refused with the reason why it may not be."""
    now = RoundRow.objects.select_related("round", "finding").get(pk=row.pk)
    refuse_ended(now.round)
    if now.finding and state != now.state:
        raise Refused(f"“{now.finding.words}” is written down here. Take that back first.")
    return False


@transaction.atomic
def judge_rest(actor: Actor, walk: Round, system: str) -> int:
    """Every row of the system that nobody looked at is good; how many that were. None left, nothing recorded.

    Refused for an ended walk-round and a card that is over."""
    card = locked_open(walk.card)
    refuse_ended(Round.objects.get(pk=walk.pk))
    rest = RoundRow.objects.filter(round=walk, system=system, state=State.UNSEEN)
    if changed := rest.update(state=State.GOOD, **_stamp(actor, State.GOOD)):
        tell("rounds.rest_good", actor, card, system=system, rows=changed)
    return changed


@transaction.atomic
def write_down(
    actor: Actor,
    row: RoundRow,
    *,
    uid: uuids.UUID,
    words: str,
    condition: str,
    measured: Decimal | None = None,
    unit: str = "",
    photos: Sequence[Photo] = (),
) -> RoundRow:
    """A finding of the row, with its limit and source, and the row in its condition. The same uid gives the row as it is.

    The finding is what history tells: one line. Refused for an ended walk-round, a card that is over, and a second finding."""
    if condition not in WRITTEN:
        raise Refused("Choose one by its shape: good, watch, act or stop.")
    card = locked_open(row.round.card)
    now = RoundRow.objects.select_related("round", "finding").get(pk=row.pk)
    if now.finding and now.finding.uid == uid:
        return now
    refuse_ended(now.round)
    if now.finding:
        raise Refused(f"“{now.finding.words}” is written down here already. Take that back first, or write a finding on the card.")
    again = Finding.objects.filter(uid=uid).exists()
    limit = {"limit_words": now.limit_words, "limit_source": now.limit_source}
    now.finding = add_finding(
        actor, card, place=now.system, words=words, condition=condition, measured=measured, unit=unit, photos=photos, uid=uid, **limit
    )
    now.state, now.by, now.at = State(now.finding.condition), actor.name, clock.now()
    now.save(update_fields=["finding", "state", "by", "at"])
    if again:  # it was taken back from the row and the same page came once more
        tell("rounds.judged", actor, card, words=now.words, state=now.get_state_display(), kept="")
    return now


@transaction.atomic
def end_round(actor: Actor, walk: Round) -> Round:
    """The walk is over. Rows that nobody looked at stay so, and history counts them. Pressed twice it ends once.

    Refused for a card that is over."""
    card = locked_open(walk.card)
    now = queries.rounds_of(card).get(pk=walk.pk)
    if now.ended_at:
        return now
    now.ended_at = clock.now()
    now.save(update_fields=["ended_at"])
    left = f", {now.unseen} not" if now.unseen else ""
    tell("rounds.ended", actor, card, looked=now.looked, total=now.total, unseen=left)
    return now
