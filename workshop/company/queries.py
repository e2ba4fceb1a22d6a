"""Read the business."""

from datetime import date
from decimal import Decimal

from workshop.company.models import Company, Rate, TaxRate, Wording


def company() -> Company:
    """The business. Raises Company.DoesNotExist before it is set up."""
    return Company.objects.get()


def rate_on(rate_class: str, day: date) -> Decimal:
    """What an hour of that class costs on a day, net. Raises LookupError, with a sentence, when none is set."""
    rate = Rate.objects.filter(rate_class=rate_class, from_on__lte=day).order_by("-from_on").first()
    if rate is None:
        raise LookupError(f"No hourly rate for {rate_class} on {day}. The owner sets it on the company page.")
    return rate.hour_amount


def tax_rate_on(code: str, day: date) -> Decimal:
    """The tax rate as a fraction (0.2200) on a day. Raises LookupError, with a sentence, when none is set."""
    rate = TaxRate.objects.filter(code=code, from_on__lte=day).order_by("-from_on").first()
    if rate is None:
        raise LookupError(f"No tax rate {code} on {day}. It belongs to the tax profile.")
    return rate.rate


def wording(kind: str) -> Wording | None:
    """The newest text of that kind, None when the business has written none."""
    return Wording.objects.filter(kind=kind).order_by("-no").first()
