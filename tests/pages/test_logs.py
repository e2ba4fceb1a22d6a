"""No token of a page by link stands in a log."""

import logging

from workshop.pages.logs import NoTokens

TOKEN = "zgKr_Xh1yQ8vT3nC5bM7wP9sD2fG4jL6aE0uRiOkZxc"


def written(msg: str, *args: object) -> str:
    record = logging.LogRecord("django.request", logging.WARNING, __file__, 1, msg, args, None)
    assert NoTokens().filter(record)
    return record.getMessage()


def test_the_address_of_a_page_by_link_loses_its_token() -> None:
    assert written("%s: %s", "Unprocessable Content", f"/q/{TOKEN}/review/") == "Unprocessable Content: /q/…/review/"
    assert written(f"fault 7F-204: GET /calendar/{TOKEN}.ics") == "fault 7F-204: GET /calendar/….ics"


def test_another_address_stays_whole() -> None:
    assert written("%s: %s", "Not Found", "/m/card/27/") == "Not Found: /m/card/27/"


def test_every_handler_has_the_filter(settings: object) -> None:
    handlers = settings.LOGGING["handlers"]  # type: ignore[attr-defined]
    assert all(handler["filters"] == ["no_tokens"] for handler in handlers.values())
    assert handlers
