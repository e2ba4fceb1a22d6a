"""The hand-over sheet on paper."""

from dataclasses import dataclass
from datetime import datetime

from django.template.loader import render_to_string

from workshop.book.queries.hand_over import Sheet, fingerprint
from workshop.pages import paper


@dataclass(frozen=True)
class Given:
    """To whom, with what, when and by whom; a sheet that nobody took yet has none."""

    to: str
    keys_back: bool
    words: str
    by: str
    at: datetime


def render(sheet: Sheet, given: Given | None = None) -> bytes:
    """The paper as a tagged PDF/A-3b. Reads nothing but what it is handed."""
    return paper.draw(html(sheet, given), fingerprint({**sheet, "at": given.at if given else ""})[:32])


def html(sheet: Sheet, given: Given | None = None) -> str:
    """The page that is printed, as HTML."""
    return render_to_string("book/pdf/hand_over.html", {"sheet": sheet, "given": given, "style": paper.style()})
