"""The paper of a go-ahead: exactly what was shown, and what was answered."""

import base64
import re
from typing import Any

from django.template.loader import render_to_string

from workshop.files import queries as files
from workshop.files.models import Blob
from workshop.pages import paper
from workshop.pages.templatetags.pages_style import kept_symbols
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
        "style": paper.style(),
    }
    return paper.draw(with_marks(render_to_string("quotes/pdf/version.html", context)), sha256)


def with_marks(text: str) -> str:
    """Each mark drawn where it stands: the renderer does not look a symbol up elsewhere in the page."""
    return re.sub(r'<svg [^>]*><use href="#(\w+)"/></svg>', lambda found: _drawn_mark(found[1]), text)


def _drawn_mark(name: str) -> str:
    symbol = kept_symbols(name)
    return symbol.replace(f'<symbol id="{name}"', '<svg xmlns="http://www.w3.org/2000/svg"').replace("</symbol>", "</svg>")


def _picture(sha256: str) -> str:
    blob = Blob.objects.get(pk=sha256)
    return f"data:{blob.media_type};base64,{base64.b64encode(files.read(sha256)).decode()}"
