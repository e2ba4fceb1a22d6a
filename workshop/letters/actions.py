"""Write a letter into the out-tray, send it. A letter is a row first; what the mail server does cannot lose it."""

import logging
import re
import uuid
from typing import Any

from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.letters import queries
from workshop.letters.models import Letter
from workshop.links import queries as links
from workshop.links.models import Link

EVENTS = {
    "letter.sent": "sent “{subject}” to {to}",
    "letter.failed": "could not send “{subject}” to {to}: {trouble}",
}
AT_ONCE = 20  # a mail server may take a second or two for each
log = logging.getLogger("workshop.letters")
MARK = re.compile(r"<<(?P<page>[\w:]+) (?P<uid>[0-9a-f-]{36})>>")


def address_mark(link: Link, page: str) -> str:
    """Stands in a letter's text for the address of a link, which is put in when the letter leaves: no token lies in the database."""
    return f"<<{page} {link.uid}>>"


def write_letter(to: str, subject: str, template: str, context: dict[str, Any], subject_uid: uuid.UUID) -> Letter:
    """Writes a letter in the caller's transaction, to be sent when that commits. Records nothing; sending does.

    `template` is a text template ("quotes/mail/version.txt"), `subject_uid` the thing the letter is about.
    """
    letter = Letter.objects.create(
        to=to,
        subject=" ".join(subject.split())[:200],
        body=render_to_string(template, context),
        template=template,
        subject_uid=subject_uid,
        written_at=clock.now(),
    )
    # robust: the caller's work is committed by now, nothing about the mail may undo the answer it gives.
    transaction.on_commit(lambda: send(None, letter), robust=True)
    return letter


def send(actor: Actor | None, letter: Letter) -> Letter:
    """Tries once. The letter is sent, or failed with the reason in `trouble`; nothing is raised. A letter that is sent stays sent."""
    if not _claim(letter):
        letter.refresh_from_db()
        return letter
    trouble = _post(letter)
    return _note(actor or Actor.system("out-tray"), letter, trouble)


def send_waiting(actor: Actor, most: int = AT_ONCE) -> list[Letter]:
    """Tries the oldest letters that have not gone, once each; returns them as they stand then. Records as send does."""
    return [send(actor, letter) for letter in queries.waiting()[:most]]


def _claim(letter: Letter) -> bool:
    """Only one of two who send at once gets the letter: the count of tries it saw must still be true."""
    mine = Letter.objects.filter(pk=letter.pk, tries=letter.tries).exclude(state=Letter.State.SENT)
    if not mine.update(tries=letter.tries + 1):
        return False
    letter.tries += 1
    return True


def _post(letter: Letter) -> str:
    try:
        EmailMessage(letter.subject, _with_addresses(letter.body), to=[letter.to]).send()
    except Exception as error:  # whatever a mail server or a name server can do: the letter stays in the tray with the reason
        log.warning("letter %s to %s did not leave: %s", letter.uid, letter.to, error)
        return f"{type(error).__name__}: {error}"[:300]
    return ""


def _with_addresses(body: str) -> str:
    known = {str(link.uid): link for link in Link.objects.filter(uid__in=[found["uid"] for found in MARK.finditer(body)])}
    return MARK.sub(lambda found: links.address(known[found["uid"]], found["page"]) if found["uid"] in known else found[0], body)


@transaction.atomic
def _note(actor: Actor, letter: Letter, trouble: str) -> Letter:
    letter.state = Letter.State.FAILED if trouble else Letter.State.SENT
    letter.trouble = trouble
    letter.sent_at = None if trouble else clock.now()
    letter.save(update_fields=["state", "trouble", "sent_at"])
    told = {"subject": letter.subject, "to": letter.to}
    record("letter.failed" if trouble else "letter.sent", actor, payload={**told, "trouble": trouble} if trouble else told)
    return letter
