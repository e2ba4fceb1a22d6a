"""From a frozen body to the bytes of the paper."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.staticfiles import finders
from django.template.loader import render_to_string

MONEY = ("labour_amount", "parts_amount", "amount", "net", "tax", "gross", "rate", "rate_per_hour")
DAYS = ("issued_on", "tax_point_on", "due_on", "on")


def render(body: dict[str, Any], sha256: str) -> bytes:
    """The paper as a tagged PDF/A-3b. Reads nothing but the body and our own style sheet; the same body gives the same page."""
    from weasyprint import CSS, HTML
    from weasyprint.urls import URLFetcher

    sheet = finders.find("pages/paper.css")
    fetcher = URLFetcher(allowed_protocols=["data"])
    styles = [CSS(filename=sheet)] if sheet else []
    return HTML(string=html(body, sha256), url_fetcher=fetcher).write_pdf(  # type: ignore[no-any-return]
        stylesheets=styles, pdf_variant="pdf/a-3b", pdf_tags=True, pdf_identifier=sha256.encode(), custom_metadata=False
    )


def html(body: dict[str, Any], sha256: str) -> str:
    """The page that is printed, as HTML."""
    return render_to_string("invoices/pdf/invoice.html", {"doc": typed(body), "sha256": sha256})


def typed(value: Any, name: str = "") -> Any:
    """The body with amounts as Decimal and days as dates, so that the template can write them."""
    if isinstance(value, dict):
        return {key: typed(item, key) for key, item in value.items()}
    if isinstance(value, list):
        return [typed(item) for item in value]
    if isinstance(value, str) and name in MONEY:
        return Decimal(value)
    if isinstance(value, str) and name in DAYS:
        return date.fromisoformat(value)
    return value
