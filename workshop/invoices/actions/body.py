"""The body of an invoice: everything that stands on its paper, and nothing else is used to print it."""

from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from workshop.calc import tax
from workshop.company import queries as company
from workshop.company.models import Company, TaxRate
from workshop.invoices.actions.bill import Bill, BillLine
from workshop.jobs.models import Card

SELLER = ("name", "address", "phone", "email", "licence_line", "tax_number", "bank_details", "paper_foot")


def body_of(firm: Company, card: Card, bill: Bill, number: str, on: date) -> dict[str, Any]:
    """Plain values, ready to be frozen: amounts as Decimal, days as dates."""
    assert bill.payer is not None
    return {
        "kind": "invoice",
        "number": number,
        "issued_on": on,
        "tax_point_on": bill.tax_point_on,
        "due_on": on + timedelta(days=firm.payment_days),
        "currency": firm.currency,
        "basis": "exclusive",
        "taxed": company.taxed(),
        "card": card.number or "",
        "seller": {name: getattr(firm, name) for name in SELLER},
        "buyer": {name: getattr(bill.payer, name) for name in ("name", "address", "tax_number", "kind")},
        "vehicle": {name: getattr(card.vehicle, name) for name in ("make", "model", "plate", "vin")},
        "rate_per_hour": bill.rate_per_hour,
        "minutes": bill.minutes,
        "lines": [_sent(place, line) for place, line in enumerate(bill.lines, start=1)],
        "taxes": [_tax(code, bill.tax_point_on) for code in bill.total.codes],
        "net": bill.total.net,
        "tax": bill.total.tax,
        "gross": bill.total.gross,
        "payment_days": firm.payment_days,
        "corrects": None,
        "reason": "",
    }


def _sent(position: int, line: BillLine) -> dict[str, Any]:
    given = line.go_ahead
    return {
        "position": position,
        "numbers": line.numbers,
        "kind": line.line_kind,
        "words": line.words,
        "parts": line.parts,
        "minutes": line.minutes,
        "labour_amount": line.labour_amount,
        "parts_amount": line.parts_amount,
        "amount": line.amount,
        "tax_code": line.tax_code,
        "go_ahead": {
            "uid": given.uid,
            "by": given.by,
            "on": timezone.localdate(given.device_at or given.at),
            "channel": given.channel,
            "version": given.version.no if given.version else None,
        },
    }


def _tax(code: tax.CodeTotal, on: date) -> dict[str, Any]:
    named = TaxRate.objects.filter(code=code.code, from_on__lte=on).order_by("-from_on").first()
    return {"code": code.code, "name": named.name if named else code.code, "rate": code.rate, "net": code.net, "tax": code.tax}
