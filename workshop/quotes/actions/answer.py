"""A go-ahead: the answer to a version, line by line, once."""

import uuid
from collections.abc import Mapping
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _

from workshop import clock
from workshop.files.actions import store
from workshop.history.actions import Actor, record
from workshop.jobs.actions import write_answers
from workshop.jobs.models import Card, Line
from workshop.pages.boxes import plain_text
from workshop.quotes import pdf, queries
from workshop.quotes.models import Answer, GoAhead, Version, VersionLine
from workshop.quotes.queries import ACCEPT, NOT_NOW, Conflict, Given, Refused

KEPT = {ACCEPT: Line.Answer.ACCEPTED, NOT_NOW: Line.Answer.NOT_NOW}
STANDINGS = ("owner", "authorised")


class Incomplete(Refused):
    """Some boxes lack an answer: `numbers` of lines, `name` and `standing` when those are missing."""

    def __init__(self, numbers: list[int], *, name: bool, standing: bool) -> None:
        super().__init__(_("No answer is not an order: each line needs an answer, and we need to know who orders."))
        self.numbers, self.name, self.standing = numbers, name, standing


def answer(
    version: Version,
    *,
    answers: Mapping[int, str],
    name: str,
    standing: str,
    request_uid: uuid.UUID,
    actor: Actor,
    address: str = "",
    browser: str = "",
    channel: str = "link",
) -> GoAhead:
    """Stores the answer with the paper of exactly what was shown, and writes the answers to the lines of the card.

    `answers`: line number to "accept" or "not-now", one for each offered line. The same `request_uid` with the same answer
    returns the first go-ahead. Raises Conflict when it came before with another answer, Incomplete, or Refused with a sentence
    when the version is replaced, expired, taken back or answered before.
    """
    given = Given(dict(answers), _plain(name), standing, channel, request_uid, clock.now(), address[:60], browser[:300])
    return _take(version, given, actor, "quote.answered")


def record_phoned(
    actor: Actor,
    version: Version,
    *,
    answers: Mapping[int, str],
    name: str,
    number_dialled: str,
    read_out: bool,
    request_uid: uuid.UUID,
    standing: str = "authorised",
    device_at: datetime | None = None,
) -> GoAhead:
    """Notes an answer given on the telephone: who, on what number, with lines, risk and total read out (A11). The server's time counts.

    Raises as answer does, and Refused when the number is missing or nothing was read out.
    """
    if not number_dialled.strip():
        raise Refused("The number you dialled is missing. It is part of the proof.")
    if not read_out:
        raise Refused("Read out the lines, what happens if they are left, and the total; then tick that you did.")
    dialled = _plain(number_dialled)[:30]
    given = Given(dict(answers), _plain(name), standing, "phoned", request_uid, clock.now(), dialled=dialled, device_at=device_at)
    return _take(version, given, actor, "quote.phoned")


def _plain(words: str) -> str:
    try:
        return plain_text(words.strip())
    except ValueError as unprintable:
        raise Refused(str(unprintable)) from None


def _take(version: Version, given: Given, actor: Actor, event: str) -> GoAhead:
    if known := _known(version, given):
        return known
    refuse_unfit(version, given)
    # The paper takes a moment to draw and needs nothing but the frozen body: it is drawn before the records are locked.
    paper = pdf.version_paper(queries.body(version), version.sha256, given)
    return _keep(version, given, paper, actor, event)


@transaction.atomic
def _keep(version: Version, given: Given, paper: bytes, actor: Actor, event: str) -> GoAhead:
    card = Card.objects.select_for_update().get(pk=version.card_id)
    version = Version.objects.select_for_update().get(pk=version.pk)
    if known := _known(version, given):
        return known
    refuse_unfit(version, given)
    choice = queries.price_choice(version, given.accepted)
    rows = {row.line.number: row for row in version.lines.select_related("line")}
    version.state = Version.State.ANSWERED
    version.save(update_fields=["state"])
    go_ahead = _go_ahead(version, given, choice, paper, rows)
    Answer.objects.bulk_create(
        Answer(go_ahead=go_ahead, version_line=rows[number], answer=KEPT[said]) for number, said in given.answers.items()
    )
    write_answers(card, {rows[number].line_id: KEPT[said] for number, said in given.answers.items()})
    record(event, actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=_told(version, given, choice, go_ahead))
    return go_ahead


def _go_ahead(version: Version, given: Given, choice: queries.Choice, paper: bytes, rows: Mapping[int, VersionLine]) -> GoAhead:
    before = sorted(number for number, row in rows.items() if row.standing == "carried")
    return GoAhead.objects.create(
        version=version,
        by=given.name[:120],
        standing=given.standing,
        channel=given.channel,
        set_before=before,
        set_after=sorted([*before, *given.accepted]),
        total_after_gross=choice.after_gross,
        request_uid=given.request_uid,
        device_at=given.device_at,
        at=given.at,
        address=given.address,
        browser=given.browser,
        dialled=given.dialled,
        paper=store(paper, "application/pdf"),
    )


def refuse_unfit(version: Version, given: Given) -> None:
    """Raises Refused or Incomplete when this answer cannot be taken for this version now."""
    if version.state != Version.State.OPEN:
        raise Refused(_("This quote is no longer open. Nothing was ordered with what you just sent."))
    if given.at >= version.expires_at:
        raise Refused(_("The day until which this quote was open has passed. Nothing was ordered. Ask us for a new one."))
    offered = {line["number"] for line in queries.body(version)["offered"]}
    if set(given.answers) - offered or set(given.answers.values()) - set(KEPT):
        raise Refused(_("An answer belongs to no line of this quote. Nothing was ordered."))
    missing = sorted(offered - set(given.answers))
    if missing or not given.name or given.standing not in STANDINGS:
        raise Incomplete(missing, name=not given.name, standing=given.standing not in STANDINGS)


def _known(version: Version, given: Given) -> GoAhead | None:
    known = GoAhead.objects.filter(request_uid=given.request_uid).first()
    if known is None:
        return None
    if known.version_id != version.pk:
        raise Conflict(_("This answer was sent before, for another quote. Nothing was ordered with it here."))
    kept = dict(known.answers.values_list("version_line__line__number", "answer"))
    first = (known.by, known.standing, known.channel, known.dialled, kept)
    now = (
        given.name[:120],
        given.standing,
        given.channel,
        given.dialled,
        {number: KEPT.get(said) for number, said in given.answers.items()},
    )
    if first != now:
        raise Conflict(
            _("This answer was sent before, and it said something else then. The first answer stands; this one changed nothing.")
        )
    return known


def _told(version: Version, given: Given, choice: queries.Choice, go_ahead: GoAhead) -> dict[str, object]:
    return {
        "quote": str(version),
        "version_uid": version.uid,
        "go_ahead_uid": go_ahead.uid,
        "by": given.name,
        "dialled": given.dialled,
        "accepted": ", ".join(map(str, given.accepted)) or "nothing",
        "declined": ", ".join(map(str, given.declined)) or "nothing",
        "total": choice.gross,
        "after": choice.after_gross,
        "sha256": version.sha256,
        "paper": go_ahead.paper_id,
    }
