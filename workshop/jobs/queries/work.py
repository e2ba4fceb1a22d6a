"""What the work sheet shows: clocks, openings, hardware, how the vehicle is left."""

import uuid as uuids
from dataclasses import dataclass

from django.db.models import Prefetch, Q

from workshop import clock
from workshop.calc import access, labour
from workshop.jobs.models import Card, CardStep, Episode, Hold, Leaving, Line, LinePart, Spell
from workshop.jobs.queries.cards import LINE_STEPS, calc_step, left, line_key, open_holds, operations, step_key, steps_of
from workshop.staff.models import User


def step(uid: uuids.UUID) -> CardStep | None:
    """The access step with its card, or None."""
    return CardStep.objects.select_related("card__vehicle").filter(uid=uid).first()


def opening(uid: uuids.UUID) -> Episode | None:
    """One opening with its step and card, or None."""
    return Episode.objects.select_related("step__card__vehicle", "photo").filter(uid=uid).first()


def spell(uid: uuids.UUID) -> Spell | None:
    """One spell with its person, line and card, or None."""
    return Spell.objects.select_related("person", "line__card__vehicle").filter(uid=uid).first()


def part(pk: int) -> LinePart | None:
    """The part with its line and card, or None."""
    return LinePart.objects.select_related("line__card__vehicle").filter(pk=pk).first()


def leaving(uid: uuids.UUID) -> Leaving | None:
    """One leaving with its card, or None."""
    return Leaving.objects.select_related("card__vehicle").filter(uid=uid).first()


def left_now(card: Card) -> Leaving | None:
    """How the vehicle is left at this moment, with its photos, or None when somebody is with it."""
    return card.leavings.filter(back_at=None).prefetch_related("photos__photo").first()


@dataclass(frozen=True)
class WorkLine:
    """An ordered line as the work sheet shows it. `minutes` is the time of all people so far."""

    line: Line
    minutes: int
    spells: tuple[Spell, ...]
    mine: bool
    parts: tuple[LinePart, ...]  # those that are missing or never used again
    held: tuple[Hold, ...]
    closed: tuple[str, ...]  # steps it needs that are not open
    unopened: tuple[str, ...]  # those of them that nobody ever opened

    @property
    def running(self) -> list[Spell]:
        """Whose clock runs on it."""
        return [spell for spell in self.spells if not spell.stopped_at]

    @property
    def done(self) -> bool:
        """Nothing is left to do on it."""
        return self.line.progress in {Line.Progress.DONE, Line.Progress.CHECKED}


@dataclass(frozen=True)
class StepState:
    """An access step as the work sheet shows it: its opening now, what stands in the way, which undone lines still need it."""

    step: CardStep
    now: Episode | None
    before: Episode | None  # the opening that was closed last
    waits_for: tuple[str, ...]
    behind: tuple[str, ...]
    needed_by: tuple[int, ...]
    wanted: bool  # by an ordered line

    @property
    def opened(self) -> bool:
        """Whether it is open, or was before."""
        return bool(self.now or self.before)


@dataclass(frozen=True)
class WorkSheet:
    """What is done on a card now."""

    card: Card
    lines: list[WorkLine]
    steps: list[StepState]
    mine: Spell | None
    card_holds: list[Hold]

    @property
    def missing(self) -> list[LinePart]:
        """Parts of which fewer are in hand than the lines need."""
        return [part for row in self.lines for part in row.parts if part.short]


def work_sheet(pk: int, person: User) -> WorkSheet | None:
    """The work sheet of a card for one person, or None. Nine queries, however many lines and steps."""
    found = Card.objects.select_related("vehicle").annotate(left_at=left("left_at"), left_state=left("state")).filter(pk=pk).first()
    if found is None:
        return None
    holds = list(open_holds(found))
    lines = list(
        found.lines.filter(answer=Line.Answer.ACCEPTED).prefetch_related(LINE_STEPS, Prefetch("parts", LinePart.objects.order_by("pk")))
    )
    spells = Spell.objects.filter(Q(line__card=found) | Q(person=person, stopped_at=None)).select_related("person", "line__card")
    times = list(spells.order_by("started_at", "pk"))
    card_steps = list(steps_of(found).prefetch_related(Prefetch("episodes", Episode.objects.order_by("opened_at", "pk"))))
    states = _step_states(card_steps, lines)
    words = {state.step.pk: state for state in states}
    now = clock.now()
    rows = []
    for line in lines:
        own = tuple(spell for spell in times if spell.line_id == line.pk)
        rows.append(
            WorkLine(
                line=line,
                minutes=sum(spell.minutes(now) for spell in own),
                spells=own,
                mine=any(spell.person_id == person.pk and not spell.stopped_at for spell in own),
                parts=tuple(part for part in line.parts.all() if part.never_again or part.short),
                held=tuple(hold for hold in holds if hold.line_id == line.pk),
                closed=tuple(need.step.words for need in line.steps.all() if words[need.step_id].now is None),
                unopened=tuple(need.step.words for need in line.steps.all() if not words[need.step_id].opened),
            )
        )
    mine = next((spell for spell in times if spell.person_id == person.pk and not spell.stopped_at), None)
    return WorkSheet(found, rows, states, mine, [hold for hold in holds if hold.line_id is None])


def _step_states(card_steps: list[CardStep], lines: list[Line]) -> list[StepState]:
    """Each step with its opening now, and what calc.access says about it."""
    plain = [calc_step(step) for step in card_steps]
    words = {step_key(step): step.words for step in card_steps}
    past = {step_key(step): list(step.episodes.all()) for step in card_steps}
    now = {key: next((episode for episode in episodes if not episode.closed_at), None) for key, episodes in past.items()}
    opened = {key for key, episode in now.items() if episode}
    work = operations(lines)
    wanted = labour.users_of_step(work, plain, [operation.key for operation in work])
    undone = {line_key(line): line.number for line in lines if line.progress in {Line.Progress.PLANNED, Line.Progress.STARTED}}
    return [
        StepState(
            step=step,
            now=now[key],
            before=next((episode for episode in reversed(past[key]) if episode.closed_at), None),
            waits_for=tuple(words[name] for name in access.closed_before(plain, opened, key)),
            behind=tuple(words[name] for name in access.open_behind(plain, opened, key)),
            needed_by=tuple(undone[name] for name in wanted.get(key, ()) if name in undone),
            wanted=key in wanted,
        )
        for step in card_steps
        for key in [step_key(step)]
    ]
