"""The paper of a go-ahead: exactly what was shown, and what was answered."""

import base64
from functools import lru_cache
from typing import Any

from django.template.loader import render_to_string

from workshop.files import queries as files
from workshop.files.models import Blob
from workshop.pages.templatetags.pages_style import source
from workshop.quotes import queries
from workshop.quotes.queries import Body, Given


def version_paper(page: Body, sha256: str, given: Given) -> bytes:
    """PDF/A-3b, tagged: the version's body with the answer to each line. Drawn once; the bytes are what is kept."""
    pictures = {uid: _picture(photo["small"]) for uid, photo in queries.photos(page).items()}
    context: dict[str, Any] = {
        **queries.sheet(page, given.answers),
        "given": given,
        "sha256": sha256,
        "pictures": pictures,
        "photos": list(queries.photos(page).values()),
        "style": paper_style(),
    }
    return drawn(render_to_string("quotes/pdf/version.html", context))


@lru_cache(maxsize=1)
def paper_style() -> str:
    """static/pages/paper.css, put into the paper itself: the renderer reads nothing but what it is handed."""
    return source("pages/paper.css")


def drawn(text: str) -> bytes:
    """The bytes of a paper. Only data: addresses are read, neither the network nor the disk."""
    from weasyprint import HTML, URLFetcher

    paper: bytes = HTML(string=text, url_fetcher=URLFetcher(allowed_protocols=["data"])).write_pdf(pdf_variant="pdf/a-3b", pdf_tags=True)
    return paper


def _picture(sha256: str) -> str:
    blob = Blob.objects.get(pk=sha256)
    return f"data:{blob.media_type};base64,{base64.b64encode(files.read(sha256)).decode()}"
