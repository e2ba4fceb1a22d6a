"""Paper: HTML in, the bytes of a PDF out. The one place that knows the renderer."""

from functools import lru_cache

from workshop.pages.templatetags.pages_style import source


def draw(text: str, identifier: str = "") -> bytes:
    """A tagged PDF/A-3b. Reads nothing but what stands in the text (data: addresses), neither the network nor the disk.

    The same text and identifier give the same page.
    """
    from weasyprint import HTML, URLFetcher  # 0.5 s of CPU that a web page shall not pay

    fetcher = URLFetcher(allowed_protocols=["data"])
    paper: bytes = HTML(string=text, url_fetcher=fetcher).write_pdf(
        pdf_variant="pdf/a-3b", pdf_tags=True, pdf_identifier=identifier.encode() or None
    )
    return paper


@lru_cache(maxsize=1)
def style() -> str:
    """static/pages/paper.css, to be put into the paper itself."""
    return source("pages/paper.css")
