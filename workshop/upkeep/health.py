"""/healthz: whether this server can work, for whoever watches it. No page: it asks for no host name, no TLS, no cookie, no login."""

import tempfile
from collections.abc import Callable
from pathlib import Path

from django.conf import settings
from django.db import Error, connection
from django.http import HttpRequest, HttpResponse

ADDRESS = "/healthz"


def healthz(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """The middleware as settings name it: answers its own address before any other middleware looks at the request."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.path_info != ADDRESS:
            return get_response(request)
        if request.method not in {"GET", "HEAD"}:
            return HttpResponse(status=405, headers={"Allow": "GET, HEAD"})
        said = trouble()
        response = HttpResponse(said or "ok", content_type="text/plain; charset=utf-8", status=503 if said else 200)
        response["Cache-Control"] = "no-store"
        return response

    return answer


def trouble() -> str:
    """What keeps this server from working, in a few words; "" when nothing does."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM history_head")
            cursor.fetchone()
    except Error:
        return "the database does not answer"
    try:
        Path(settings.FILES_ROOT).mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=settings.FILES_ROOT) as file:
            file.write(b"x")
    except OSError:
        return "the files cannot be written"
    return ""
