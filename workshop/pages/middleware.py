"""Turns trouble with the records into a 503 page, and gives a bare 405 its page."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from workshop.pages import errors


class CalmFaults:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code != 405 or response.streaming or response.content:
            return response
        page = errors.answer(request, errors.ONLY_A_BUTTON)
        page["Allow"] = response["Allow"]
        return page

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        return errors.records_unreachable(request, error)


def calm_faults(get_response: Callable[[HttpRequest], HttpResponse]) -> CalmFaults:
    """The middleware as settings name it."""
    return CalmFaults(get_response)
