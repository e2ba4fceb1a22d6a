"""Calm pages for what went wrong: what was not changed, what can be done. A fault has a number that stands in the log too."""

import errno
import logging
import secrets
import sys
from dataclasses import dataclass

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from workshop.pages.context import light_of

log = logging.getLogger("workshop.fault")


@dataclass(frozen=True)
class Trouble:
    """What a page of this kind says."""

    status: int
    title: str | Promise
    what: str | Promise
    help: str | Promise


NOT_UNDERSTOOD = Trouble(
    400,
    _("Not understood"),
    _("The server did not understand this request. Nothing was changed."),
    _("Go back and do it again from the sheet."),
)
FORBIDDEN = Trouble(
    403, _("Not open to you"), _("This sheet is not open to you. Nothing was changed."), _("Ask the owner of the business.")
)
TOO_OLD = Trouble(
    403,
    _("This page was too old"),
    _("It lay open until its sign-in ended, so nothing was saved."),
    _("Go back, copy what you typed, load the page again and send it anew."),
)
NOT_FOUND = Trouble(
    404,
    _("Nothing here"),
    _("There is no sheet at this address."),
    _("Check the address. A link from a message works only whole, to its last letter."),
)
ONLY_A_BUTTON = Trouble(
    405,
    _("Nothing was done"),
    _("This address only takes what a button sends. Nothing was changed."),
    _("Go back to the sheet and press it there."),
)
FAULT_ON_READING = Trouble(
    500,
    _("That did not work"),
    _("The fault is ours, and it is written down. Nothing was changed."),
    _("Try once more. If it comes back, tell us the number."),
)
FAULT_ON_SAVING = Trouble(
    500,
    _("That did not work"),
    _("The fault is ours, and it is written down. What you sent was saved whole or not at all."),
    _("Look at the sheet before you send it again. If it comes back, tell us the number."),
)
BUSY = Trouble(
    503,
    _("The records are busy"),
    _("Somebody else was writing for too long. Nothing was changed."),
    _("Wait a few seconds and send it again."),
)
READ_ONLY = Trouble(
    503,
    _("The records cannot be written"),
    _("The database of the server may only be read. Nothing was changed."),
    _("Whoever runs the server has to give it leave to write."),
)
FULL = Trouble(
    503,
    _("The server is full"),
    _("There is no room left on its disk. Nothing was changed."),
    _("Whoever runs the server has to make room. What you typed is still here if you go back."),
)
OUT_OF_REACH = Trouble(
    503,
    _("The records cannot be reached"),
    _("The database does not answer. Nothing was changed."),
    _("Try again in a minute. If it stays so, tell whoever runs the server."),
)

# What SQLite (sqlite.org/rescode.html: BUSY, READONLY, FULL, CANTOPEN, IOERR) and PostgreSQL say, in their own words.
DATABASE_WORDS = (
    (BUSY, ("database is locked", "database table is locked", "deadlock detected", "lock timeout", "could not serialize")),
    (READ_ONLY, ("readonly database", "read-only transaction")),
    (FULL, ("disk is full", "no space left")),
    (OUT_OF_REACH, ("unable to open database", "disk i/o error", "connection", "server closed", "too many clients")),
)


def trouble_of(error: BaseException | None) -> Trouble | None:
    """The kind of trouble with the records, or None when the error is of another kind."""
    if isinstance(error, OSError) and error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return FULL
    if not isinstance(error, (OperationalError, InterfaceError)):
        return None
    said = str(error).lower()
    return next((trouble for trouble, words in DATABASE_WORDS if any(word in said for word in words)), None)


def fault_number() -> str:
    """A number short enough for the telephone: 7F-204."""
    return f"{secrets.token_hex(1).upper()}-{100 + secrets.randbelow(900)}"


def answer(request: HttpRequest, trouble: Trouble, number: str = "", *, calm: bool = True) -> HttpResponse:
    """The page of a trouble, or for htmx the piece that base.html keeps a place for.

    When not `calm` (a fault, the records out of reach) the page asks for neither session nor user.
    """
    piece = request.headers.get("HX-Request") == "true"
    context = {"trouble": trouble, "number": number, "page": "pages:fault", "theme": light_of(request)}
    template = "pages/_fault.html" if piece else "pages/fault.html"
    response = HttpResponse(render_to_string(template, context, request if calm else None), status=trouble.status)
    response["Cache-Control"] = "no-store"
    if piece:
        response["HX-Reswap"] = "none"
    return response


def records_unreachable(request: HttpRequest, error: BaseException) -> HttpResponse | None:
    """503 with a fault number for trouble with the records, None for any other error."""
    trouble = trouble_of(error)
    if trouble is None:
        return None
    number = fault_number()
    log.error("fault %s: %s %s: %s", number, request.method, request.path, error)
    response = answer(request, trouble, number, calm=False)
    response["Retry-After"] = "5"
    return response


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400."""
    return answer(request, NOT_UNDERSTOOD, calm=False)


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """403."""
    return answer(request, FORBIDDEN)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """404."""
    return answer(request, NOT_FOUND)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:
    """403 for a form whose token no longer fits."""
    log.warning("refused a form: %s %s: %s", request.method, request.path, reason)
    return answer(request, TOO_OLD)


def fault(request: HttpRequest) -> HttpResponse:
    """500 with a fault number, or 503 when it was the records."""
    error = sys.exc_info()[1]
    if error and (response := records_unreachable(request, error)):
        return response
    number = fault_number()
    log.error("fault %s: %s %s", number, request.method, request.path, exc_info=error)
    reading = request.method in {"GET", "HEAD"}
    return answer(request, FAULT_ON_READING if reading else FAULT_ON_SAVING, number, calm=False)
