"""Opening up and closing again, step by step; the strip that is agreed before the first bolt."""

import uuid as uuids
from collections.abc import Sequence

from django.db import transaction

from workshop import clock
from workshop.calc import access, labour
from workshop.history.actions import Actor
from workshop.jobs import queries
from workshop.jobs.actions.common import Refused, locked_open, refuse_left, tell, write_open
from workshop.jobs.actions.lines import same_card, write_line
from workshop.jobs.actions.mend import reason_of
from workshop.jobs.models import Card, CardStep, Episode, Hold, Line
from workshop.pages.boxes import LOST
from workshop.pages.templatetags.pages_format import moment
from workshop.photos.models import Photo

MOST_BAGS = 60
AGAIN = {Episode.Cause.PARTS, Episode.Cause.MORE, Episode.Cause.OURS}


@transaction.atomic
def open_step(actor: Actor, step: CardStep, *, bags: str = "", cause: str = "", uid: uuids.UUID | None = None) -> Episode:
    """A step goes open, and a ready card with it. The same uid gives the opening that is there. `bags` are the numbers of the bags
    with what came off.

    Refused while a step before it is closed, when no ordered line needs it, without a cause when it was closed before (parts, more,
    ours), while the place is refused, while the vehicle is left, and when the uid stands on another step."""
    card = _at_the_vehicle(step)
    if uid and (there := Episode.objects.filter(uid=uid).first()):
        if there.step_id != step.pk:
            raise Refused(LOST)
        return there
    steps, opened = queries.steps(card), open_keys(card)
    key = queries.step_key(step)
    if key in opened:
        raise Refused(f"{step} is open already.")
    if closed := access.closed_before(steps, opened, key):
        raise Refused(f"{_words(card, closed[0])} is still closed. Open it before {step}.")
    if key not in ordered_steps(card):
        raise Refused(f"No ordered line needs {step}. Offer a strip, or wait for the go-ahead.")
    if held := card.holds.filter(line=None, released_at=None, stops=Hold.Stops.START).first():
        raise Refused(f"Nothing is opened here. {held.reason}")
    chosen = _cause(step, cause)
    write_open(card)
    now = clock.now()
    episode = Episode.objects.create(
        uid=uid or uuids.uuid4(), step=step, cause=chosen, bags=_bags(bags), opened_at=now, opened_by=actor.name[:120]
    )
    _tell("jobs.step_opened", actor, card, episode)
    return episode


def _cause(step: CardStep, cause: str) -> str:
    before = step.episodes.exclude(closed_at=None).order_by("closed_at").last()
    if before is None:
        return Episode.Cause.PLANNED
    if cause not in AGAIN:
        raise Refused(f"{step} was closed on {moment(before.closed_at)}. Choose why it is opened again.")
    return cause


def _bags(bags: str) -> str:
    numbers = " ".join(bags.split())
    if len(numbers) > MOST_BAGS:
        raise Refused(f"{len(numbers):,} characters for the bags. At most {MOST_BAGS}: only their numbers.")
    return numbers


@transaction.atomic
def bag_step(actor: Actor, episode: Episode, bags: str) -> Episode:
    """The numbers of the bags, written or put right while it is open. The same again changes nothing."""
    card, fresh = _still_open(episode)
    numbers = _bags(bags)
    if numbers == fresh.bags:
        return fresh
    fresh.bags = numbers
    fresh.save(update_fields=["bags"])
    tell("jobs.step_bagged", actor, card, words=fresh.step.words, bags=numbers or "no bag")
    return fresh


@transaction.atomic
def begin_closing(actor: Actor, episode: Episode, photo: Photo | None, no_photo_why: str = "") -> Episode:
    """The covers go on: from now on the step is priced as closed. A second tap changes nothing.

    Refused while something behind it is open, and with neither a photo of what is covered nor a reason why there is none."""
    card, fresh = _still_open(episode)
    if fresh.closing_at:
        return fresh
    _refuse_behind(card, fresh.step)
    if photo is None and not no_photo_why.strip():
        raise Refused(f"No photo of what {fresh.step} will cover. Take one before the covers go on, or say why there is none.")
    fresh.closing_at, fresh.photo = clock.now(), photo
    fresh.no_photo_why = "" if photo else reason_of(no_photo_why)
    fresh.save(update_fields=["closing_at", "photo", "no_photo_why"])
    _tell("jobs.step_closing", actor, card, fresh)
    return fresh


@transaction.atomic
def end_closing(actor: Actor, episode: Episode) -> Episode:
    """The step is closed. A second tap changes nothing. Refused before closing began, and while something behind it is open."""
    card = _at_the_vehicle(episode.step)
    fresh = _locked_episode(episode)
    if fresh.closed_at:
        return fresh
    if not fresh.closing_at:
        raise Refused(f"{fresh.step} is open. Begin to close it with a photo of what it covers.")
    _refuse_behind(card, fresh.step)
    fresh.closed_at, fresh.closed_by = clock.now(), actor.name[:120]
    fresh.save(update_fields=["closed_at", "closed_by"])
    _tell("jobs.step_closed", actor, card, fresh)
    return fresh


def _at_the_vehicle(step: CardStep) -> Card:
    card = locked_open(step.card)
    refuse_left(card)
    return card


def _locked_episode(episode: Episode) -> Episode:
    return Episode.objects.select_for_update(of=("self",)).select_related("step").get(pk=episode.pk)


def _still_open(episode: Episode) -> tuple[Card, Episode]:
    card, fresh = _at_the_vehicle(episode.step), _locked_episode(episode)
    if fresh.closed_at:
        raise Refused(f"{fresh.step} was closed on {moment(fresh.closed_at)}. Open it again first.")
    return card, fresh


def _refuse_behind(card: Card, step: CardStep) -> None:
    if behind := access.open_behind(queries.steps(card), open_keys(card), queries.step_key(step)):
        raise Refused(f"{_words(card, behind[0])} is still open behind {step}. Close it first.")


def _words(card: Card, key: str) -> str:
    return next(step.words for step in card.steps.all() if queries.step_key(step) == key)


def _tell(kind: str, actor: Actor, card: Card, episode: Episode) -> None:
    again = f", opened again: {episode.get_cause_display()}" if episode.cause != Episode.Cause.PLANNED else ""
    bags = f", bags {episode.bags}" if episode.bags else ""
    why = "with a photo" if episode.photo_id else f"without a photo: {episode.no_photo_why}"
    tell(kind, actor, card, words=episode.step.words, bags=bags, again=again, photo=why)


def open_keys(card: Card) -> set[str]:
    """The steps of a card that are open or closing, by their names in calc."""
    return {queries.step_key(step) for step in card.steps.filter(episodes__closed_at=None, episodes__isnull=False)}


def ordered_steps(card: Card) -> set[str]:
    """The steps that ordered lines need, with those before them, by their names in calc."""
    lines = queries.operations(queries.lines_of(card).filter(answer=Line.Answer.ACCEPTED))
    return set(labour.needed_steps(lines, queries.steps(card), [line.key for line in lines]))


@transaction.atomic
def add_strip(actor: Actor, card: Card, *, words: str, why: str, steps: Sequence[CardStep], uid: uuids.UUID | None = None) -> Line:
    """A draft line that only opens up to look: steps and no minutes of its own, `why` for the customer. The same uid gives the line
    that is there. Refused without steps, without why, and as write_line refuses."""
    now = locked_open(card)  # a second tap waits here, then finds the line of the first
    if uid and (there := Line.objects.filter(uid=uid).first()):
        return same_card(there, now)
    if not steps:
        raise Refused("Nothing is opened. Choose at least one step: a strip is priced by what it opens and closes.")
    if not why.strip():
        raise Refused("No reason. Say for the customer why it must be opened to know.")
    line = write_line(now, kind=Line.Kind.STRIP, words=words, plain_words=why, steps=steps, uid=uid)
    tell("jobs.strip_added", actor, line.card, number=line.number, words=line.words, steps=", ".join(step.words for step in steps))
    return line
