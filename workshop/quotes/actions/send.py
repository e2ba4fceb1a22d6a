"""Send a version, take it back."""

import uuid
from collections.abc import Collection
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop import clock
from workshop.calc import canonical
from workshop.history.actions import Actor, record
from workshop.jobs.actions import write_answers
from workshop.jobs.models import Card, Line
from workshop.letters.actions import address_mark, write_letter
from workshop.letters.models import Letter
from workshop.links import actions as links
from workshop.links.models import Link
from workshop.quotes import queries
from workshop.quotes.actions.compose import compose, payer_of
from workshop.quotes.models import Version, VersionLine
from workshop.quotes.queries import Conflict, Refused


@transaction.atomic
def send_version(
    actor: Actor,
    card: Card,
    *,
    for_whom: str,
    email: str = "",
    numbers: Collection[int] | None = None,
    expires_at: datetime | None = None,
    request_uid: uuid.UUID | None = None,
) -> Version:
    """Freezes the whole page, makes its link, and writes the letter when there is a mail address. Returns the version, open.

    A version that was open is replaced; an answered one stays good, and this one comes after it, carrying its lines (A1, A15).
    `numbers` None means every line that waits for an answer. The same `request_uid` again returns the first version.
    Raises Conflict when that request sent something else, Refused with a sentence.
    """
    card = Card.objects.select_for_update(of=("self",)).select_related("vehicle").get(pk=card.pk)
    if made := _sent_before(card, request_uid, for_whom=for_whom, email=email, numbers=numbers, expires_at=expires_at):
        return made
    if card.state in {Card.State.CLOSED, Card.State.CANCELLED}:
        raise Refused(f"Card {card} is {card.get_state_display()}. Nothing more can be offered on it.")
    if expires_at is not None and expires_at <= clock.now():
        raise Refused("The day until which it stays open has passed. Choose a later one.")
    before = queries.open_version(card)
    page = compose(card, for_whom=for_whom, numbers=numbers, expires_at=expires_at)
    version = _freeze(card, page, before, request_uid)
    _offer(card, version, before)
    link = links.make("quote", version.uid, for_whom, version.expires_at)
    if email:
        _write(version, page, link, email)
    record("quote.sent", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload=_told(version, page))
    return version


@transaction.atomic
def take_back(actor: Actor, version: Version) -> Version:
    """Closes an open version without another in its place; its lines are no longer offered. Raises Refused when it is not open."""
    card = Card.objects.select_for_update().get(pk=version.card_id)
    version = Version.objects.select_for_update().get(pk=version.pk)
    if version.state != Version.State.OPEN:
        raise Refused(f"Version {version.no} is {version.get_state_display()} and cannot be taken back.")
    version.state = Version.State.REVOKED
    version.save(update_fields=["state"])
    if link := queries.link_of(version):
        links.revoke(link)
    write_answers(card, dict.fromkeys(_offered_lines(version), Line.Answer.DRAFT))
    record("quote.taken_back", actor, card_id=card.pk, vehicle_id=card.vehicle_id, payload={"quote": f"{card} / {version.no}"})
    return version


def _sent_before(
    card: Card, request_uid: uuid.UUID | None, *, for_whom: str, email: str, numbers: Collection[int] | None, expires_at: datetime | None
) -> Version | None:
    version = Version.objects.filter(request_uid=request_uid).first() if request_uid else None
    if version is None:
        return None
    page = queries.body(version)
    mailed = Letter.objects.filter(subject_uid=version.uid).order_by("pk").values_list("to", flat=True).first() or ""
    first = (version.card_id, page["for_whom"], mailed)
    told = numbers is None or {line["number"] for line in page["offered"]} == set(numbers)
    if first != (card.pk, for_whom, email) or not told or expires_at not in {None, version.expires_at}:
        raise Conflict(f"This page sent {version} already, with other content. Nothing was sent now. Send once more if it is wanted.")
    return version


def _freeze(card: Card, page: queries.Body, before: Version | None, request_uid: uuid.UUID | None) -> Version:
    text = canonical.dumps(page)
    version = Version.objects.create(
        card=card,
        no=page["version"],
        payer=payer_of(card),
        replaces=before,
        after=queries.answered_version(card),
        basis=page["pricing"]["basis"],
        body=text,
        sha256=canonical.sha256(text),
        total_gross=Decimal(page["total"]["gross"]),
        request_uid=request_uid,
        sent_at=datetime.fromisoformat(page["sent_at"]),
        expires_at=datetime.fromisoformat(page["expires_at"]),
    )
    if before:
        before.state = Version.State.REPLACED
        before.save(update_fields=["state"])
    return version


def _offer(card: Card, version: Version, before: Version | None) -> None:
    """Version lines, and the answers of the lines in jobs; what the replaced version offered and this one does not is a draft again."""
    page = queries.body(version)
    rows = {line.number: line for line in card.lines.all()}
    for standing, lines in (("carried", page["committed"]["lines"]), ("offered", page["offered"])):
        VersionLine.objects.bulk_create(VersionLine(version=version, line=rows[line["number"]], standing=standing) for line in lines)
    offered = {rows[line["number"]].pk for line in page["offered"]}
    left = _offered_lines(before) - offered if before else set()
    write_answers(card, {**dict.fromkeys(left, Line.Answer.DRAFT), **dict.fromkeys(offered, Line.Answer.OFFERED)})


def _offered_lines(version: Version) -> set[int]:
    return set(version.lines.filter(standing="offered").values_list("line_id", flat=True))


def _write(version: Version, page: queries.Body, link: Link, email: str) -> None:
    business, vehicle = page["business"]["name"], page["vehicle"]
    context = {"page": page, "version": version, "address": address_mark(link, "quotes:go_ahead")}
    subject = f"{business}: {vehicle['make']} {vehicle['model']}, {version}"
    write_letter(email, subject, "quotes/mail/version.txt", context, version.uid)


def _told(version: Version, page: queries.Body) -> dict[str, object]:
    return {
        "quote": str(version),
        "version_uid": version.uid,
        "for_whom": page["for_whom"],
        "offered": ", ".join(str(line["number"]) for line in page["offered"]),
        "total": version.total_gross,
        "until": version.expires_at,
        "sha256": version.sha256,
    }
