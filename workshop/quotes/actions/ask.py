"""A question about a line, and its reply. The version stays open (A6)."""

from django.db import transaction
from django.utils.translation import gettext as _

from workshop import clock
from workshop.history.actions import Actor, record
from workshop.pages.boxes import plain_text
from workshop.quotes.models import Question, Version
from workshop.quotes.queries import Refused

LONGEST = 1000


@transaction.atomic
def ask(actor: Actor, version: Version, *, number: int, text: str) -> Question:
    """Keeps a question about one offered line. The same words again are the same question. Raises Refused with a sentence."""
    version = Version.objects.select_for_update(of=("self",)).select_related("card").get(pk=version.pk)
    words = _printable(text)
    if version.state != Version.State.OPEN or clock.now() >= version.expires_at:
        raise Refused(_("This quote is no longer open, so the question was not kept. Call us."))
    row = version.lines.filter(line__number=number, standing="offered").first()
    if row is None:
        raise Refused(_("This quote has no such line."))
    if not words:
        raise Refused(_("The box is empty. Write what you want to know."))
    if known := row.questions.filter(text=words).first():
        return known
    question = Question.objects.create(version_line=row, text=words, asked_at=clock.now())
    told = {"line": number, "quote": str(version), "text": words}
    record("quote.asked", actor, card_id=version.card_id, vehicle_id=version.card.vehicle_id, payload=told)
    return question


@transaction.atomic
def reply(actor: Actor, question: Question, text: str) -> Question:
    """Puts our answer under a question; it shows on the customer's page. Raises Refused when it is empty or answered before."""
    question = (
        Question.objects.select_for_update(of=("self",))
        .select_related("version_line__version__card", "version_line__line")
        .get(pk=question.pk)
    )
    if question.reply:
        raise Refused("This question was answered before.")
    if not text.strip():
        raise Refused("The box is empty. Write the answer.")
    question.reply, question.replied_at = _printable(text), clock.now()
    question.save(update_fields=["reply", "replied_at"])
    row = question.version_line
    told = {"line": row.line.number, "quote": str(row.version), "text": question.reply}
    record("quote.replied", actor, card_id=row.version.card_id, vehicle_id=row.version.card.vehicle_id, payload=told)
    return question


def _printable(text: str) -> str:
    try:
        return plain_text(text.strip())[:LONGEST]
    except ValueError as unprintable:
        raise Refused(str(unprintable)) from None
