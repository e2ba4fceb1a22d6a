"""Remind a payer of what is due."""

import json
from collections.abc import Sequence
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from workshop import clock
from workshop.calc.money import ZERO
from workshop.company import queries as company
from workshop.customers.models import Party
from workshop.history.actions import Actor, record
from workshop.invoices.models import Document
from workshop.ledger.actions import Conflict, Refused
from workshop.letters.actions import write_letter
from workshop.letters.models import Letter
from workshop.outbox import actions as outbox
from workshop.pages.templatetags.pages_format import money


@transaction.atomic
def remind(actor: Actor, party: Party, documents: Sequence[Document], *, email: str, request_uid: UUID) -> Letter:
    """Writes a letter that lists what is past due, with the business's newest reminder wording, into the out-tray.

    `documents` come from queries.open_of. The same request again returns the same letter. Raises Conflict when it wrote another,
    Refused when nothing of it is due, or without a mail address."""
    if not email:
        raise Refused("No mail address is on file. Write it here, or call.")
    late = [each for each in documents if each.due_on < clock.today() and getattr(each, "left_amount", ZERO) > 0]
    if not late:
        raise Refused("Nothing of this is past its day. There is nothing to remind of.")
    numbers = ", ".join(each.number for each in late)
    body = json.dumps([str(party.uid), email, numbers]).encode()
    try:
        done, _fresh = outbox.once(request_uid, None, body, lambda: _write(actor, party, late, email, numbers))
    except outbox.Conflict:
        raise Conflict("This page wrote another letter already. That one stands. Open the page again and start anew.") from None
    return Letter.objects.get(uid=done["letter"])


def _write(actor: Actor, party: Party, late: Sequence[Any], email: str, numbers: str) -> dict[str, Any]:
    firm, wording = company.company(), company.wording("reminder")
    total = sum((each.left_amount for each in late), Decimal(0))
    context = {"party": party, "documents": late, "total": total, "firm": firm, "wording": wording, "on": clock.today()}
    subject = f"{firm.name}: {money(total)} {firm.currency}"
    letter = write_letter(email, subject, "invoices/mail/reminder.txt", context, party.uid)
    told = {"party": party.name, "number": numbers, "amount": total, "wording": wording.no if wording else 0, "letter": letter.uid}
    record("invoice.reminded", actor, payload=told)
    return {"letter": str(letter.uid)}
