"""The calendar, by link. Reading it changes nothing."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from workshop.pages import errors
from workshop.pages.headers import public_headers
from workshop.scheduling import queries


@public_headers
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """The stops as a calendar program reads them (RFC 5545). The same plain 404 for every link that does not work."""
    if queries.reader(token) is None:
        return errors.answer(request, errors.NOT_FOUND, calm=False)
    response = HttpResponse(queries.feed(), content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = 'inline; filename="stops.ics"'
    return response
