"""From a frozen body to the bytes of the paper."""

import hashlib
from datetime import date
from decimal import Decimal
from typing import Any

from django.template.loader import render_to_string

from workshop import clock
from workshop.company import queries as company
from workshop.company.models import Company
from workshop.invoices import queries
from workshop.invoices.queries import Statement
from workshop.pages import paper

MONEY = {"labour_amount", "parts_amount", "amount", "net", "tax", "gross", "rate", "rate_per_hour"}
DAYS = {"issued_on", "tax_point_on", "due_on", "on"}


def render(body: dict[str, Any], sha256: str) -> bytes:
    """The paper as a tagged PDF/A-3b. Reads nothing but what it is handed: neither the network nor the disk."""
    return paper.draw(html(body, sha256), sha256[:32])


def html(body: dict[str, Any], sha256: str) -> str:
    """The page that is printed, as HTML."""
    doc = {"whole": True, **typed(body), "taxed": queries.taxed(body)}
    doc["lines"] = [{**line, "shown": "+".join(map(str, line["numbers"]))} for line in doc["lines"]]
    doc["taxes"] = [{**code, "percent": code["rate"] * 100} for code in doc["taxes"]]
    return render_to_string("invoices/pdf/invoice.html", {"doc": doc, "sha256": sha256, "style": paper.style()})


def statement(account: Statement, firm: Company) -> bytes:
    """A customer's account over a span, as a paper. Drawn anew each time: it is no document, the books are."""
    context = {"account": account, "firm": firm, "style": paper.style(), "on": clock.today(), "taxed": company.taxed()}
    page = render_to_string("invoices/pdf/statement.html", context)
    return paper.draw(page, hashlib.sha256(page.encode()).hexdigest()[:32])


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
