"""Read the business."""

import inspect
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.conf import settings
from django.db.models import Max, Model
from django.forms.models import model_to_dict
from django.urls import URLPattern, URLResolver, get_resolver
from django.utils import timezone

from workshop import clock
from workshop.calc import canonical, numbering, travel
from workshop.company.models import CallOutRule, Company, Rate, Series, TaxRate, Wording
from workshop.links import queries as links
from workshop.links.models import Link
from workshop.staff.models import User

FIRST = "set_up"  # what the link of the first page is for
IDENTITY = {
    "name": "name",
    "address": "address",
    "phone": "telephone",
    "email": "mail",
    "licence_line": "licence line",
    "tax_number": "registration number",
    "bank_details": "bank details",
    "payment_days": "days to pay",
    "quote_days": "days a quote is open",
    "paper_foot": "line above the foot",
}
RATE_CLASSES = ("workshop", "travel")  # what the work and the way are priced by; the owner may add others
WORDINGS = {
    "go_ahead": "Order",
    "next": "After the order",
    "cancellation": "Cancellation notice",
    "terms": "Terms",
    "hand_over": "Hand-over",
    "invoice": "Letter with an invoice",
    "reminder": "Reminder",
}
SERIES = {"card": "job cards", "invoice": "invoices", "credit": "credit notes"}


def company() -> Company:
    """The business. Raises Company.DoesNotExist before it is set up."""
    return Company.objects.get()


def is_set_up() -> bool:
    """Whether there is a business, or somebody who can sign in."""
    return Company.objects.exists() or User.objects.exists()


def first_link(token: str) -> Link | None:
    """The link of the first page while it opens it; None for an unknown, used or old one, and once the business is set up."""
    link = links.find(token, FIRST)
    return link if link and links.alive(link) and not is_set_up() else None


def tax_profile(name: str) -> dict[str, Any]:
    """A tax profile of fixtures/tax as it is written there. Raises LookupError for an unknown one."""
    path = settings.BASE_DIR / "fixtures/tax" / f"{name}.json"
    if not path.is_file():
        raise LookupError(f"There is no tax profile {name}.")
    profile: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return profile


def tax_profiles() -> list[dict[str, Any]]:
    """Every profile that a real business can have, by name; the demo's is left out."""
    found = [tax_profile(path.stem) for path in sorted((settings.BASE_DIR / "fixtures/tax").glob("*.json"))]
    return [profile for profile in found if not profile.get("invented")]


def taxed() -> bool:
    """Whether the business is registered and adds tax. Where it does not, no page and no paper has a word of it.

    One query; False before anything is set up. Templates have it as `taxed`, asked only where one uses it."""
    return TaxRate.objects.exists()


def rate_on(rate_class: str, day: date) -> Decimal:
    """What an hour of that class costs on a day, net. Raises LookupError, with a sentence, when none is set."""
    rate = Rate.objects.filter(rate_class=rate_class, from_on__lte=day).order_by("-from_on").first()
    if rate is None:
        raise LookupError(f"No hourly rate for {rate_class} on {day}. The owner sets it on the company page.")
    return rate.hour_amount


def tax_rate_on(code: str, day: date) -> Decimal:
    """The tax rate as a fraction (0.2200) on a day; 0 for a business that is not registered.

    Raises LookupError, with a sentence, when none is set."""
    rate = TaxRate.objects.filter(code=code, from_on__lte=day).order_by("-from_on").first()
    if rate is None and not taxed() and Company.objects.exists():
        return Decimal(0)
    if rate is None:
        raise LookupError(f"No tax rate {code} on {day}. It belongs to the tax profile.")
    return rate.rate


def wording(kind: str) -> Wording | None:
    """The newest text of that kind, None when the business has written none."""
    return Wording.objects.filter(kind=kind).order_by("-no").first()


def seen_of(rows: Iterable[Model]) -> str:
    """A short print of rows as they are on file: a sheet carries it, so that a verb can tell whether somebody wrote since."""
    return canonical.sha256(canonical.dumps([_plain(row) for row in rows]))[:16]


def _plain(row: Model) -> dict[str, Any]:
    return {name: value.isoformat() if isinstance(value, time) else value for name, value in model_to_dict(row).items()}


def seen_of_identity(company: Company) -> str:
    """The print of name, address and the other fields of IDENTITY."""
    return canonical.sha256(canonical.dumps([getattr(company, field) for field in IDENTITY]))[:16]


def rates() -> list[Rate]:
    """Every hourly rate, by class, newest first."""
    return list(Rate.objects.order_by("rate_class", "-from_on"))


def tax_rates() -> list[TaxRate]:
    """Every tax rate, by code, newest first. None for a business that is not registered."""
    return list(TaxRate.objects.order_by("code", "-from_on"))


def call_out_rules() -> list[CallOutRule]:
    """Every call-out rule, newest first."""
    return list(CallOutRule.objects.order_by("-from_on"))


def in_force[Dated: (Rate, TaxRate, CallOutRule)](rows: Iterable[Dated], day: date) -> list[Dated]:
    """Of rows newest first, those that hold on a day: one of each class or code."""
    held: dict[str, Dated] = {}
    for row in rows:
        if row.from_on <= day:
            held.setdefault(str(getattr(row, "rate_class", getattr(row, "code", ""))), row)
    return list(held.values())


def call_out_rule_on(day: date) -> CallOutRule:
    """The call-out rule that holds on a day. Raises LookupError, with a sentence, when none is set."""
    rule = CallOutRule.objects.filter(from_on__lte=day).order_by("-from_on").first()
    if rule is None:
        raise LookupError(f"No call-out rule on {day}. The owner sets it on the company page.")
    return rule


@dataclass(frozen=True)
class CallOutPrice:
    """The way there and back, its surcharge by night or weekend in whole coins, and the sum, all net."""

    way: travel.CallOut
    factor: Decimal
    surcharge: Decimal
    net: Decimal


def call_out_price(
    rule: CallOutRule, hour_amount: Decimal, *, km_each_way: Decimal | int, minutes_each_way: int, factor: Decimal = Decimal(1)
) -> CallOutPrice:
    """What one call-out costs by a rule. The factor puts a surcharge on the whole way, rounded by itself (the house's own rule)."""
    return driven_price(rule, hour_amount, km=2 * km_each_way, minutes=2 * minutes_each_way, factor=factor)


def driven_price(rule: CallOutRule, hour_amount: Decimal, *, km: Decimal | int, minutes: int, factor: Decimal = Decimal(1)) -> CallOutPrice:
    """As call_out_price, from what is driven there and back together, or from a share of a round."""
    way = travel.driven(
        km=km,
        minutes=minutes,
        base_amount=rule.base_amount,
        free_km=rule.free_km,
        rate_per_km=rule.km_amount,
        rate_per_hour=hour_amount,
    )
    more = travel.surcharge(way.net, factor)
    return CallOutPrice(way, factor, more, way.net + more)


def factor_at(rule: CallOutRule, starts_at: datetime) -> Decimal:
    """The factor for a start: by night or on Saturday and Sunday, the higher of the two when both hold, else 1. Local time counts."""
    return travel.start_factor(
        timezone.localtime(starts_at),
        night_begins=rule.night_begins,
        night_ends=rule.night_ends,
        night_factor=rule.night_factor,
        weekend_factor=rule.weekend_factor,
    )


@dataclass(frozen=True)
class Begun:
    """A series in a year as the sheet shows it."""

    kind: str
    words: str
    year: int
    given: int
    last: str
    last_on: date | None
    following: str
    starts_after: int


def series(year: int) -> list[Begun]:
    """Every series of the year, also those that have given no number yet, then the years before, newest first."""
    rows = {(row.kind, row.year): row for row in Series.objects.all()}
    kept = sorted((-then, list(SERIES).index(kind)) for kind, then in rows if kind in SERIES and then != year)
    wanted = [(kind, year) for kind in SERIES] + [(list(SERIES)[place], -then) for then, place in kept]
    return [_begun(rows.get(key) or Series(kind=key[0], year=key[1])) for key in wanted]


def _begun(row: Series) -> Begun:
    last = row.starts_after + row.value
    return Begun(
        row.kind,
        SERIES[row.kind],
        row.year,
        row.value,
        numbering.number(row.kind, row.year, last) if row.value else "",
        row.last_on,
        numbering.number(row.kind, row.year, last + 1),
        row.starts_after,
    )


def seen_of_series(year: int) -> str:
    """Where each series of the year begins, as one print."""
    return ",".join(str(begun.starts_after) for begun in series(year) if begun.year == year)


def last_number_on() -> date | None:
    """The date of the latest card, invoice or credit note that has a number."""
    found: date | None = Series.objects.aggregate(last=Max("last_on"))["last"]
    return found


def wordings(kind: str) -> list[Wording]:
    """Every version of a text, newest first."""
    return list(Wording.objects.filter(kind=kind).order_by("-no"))


def newest_wordings() -> Mapping[str, Wording]:
    """The newest version of each text by kind."""
    return {wording.kind: wording for wording in Wording.objects.order_by("no")}


def people() -> list[User]:
    """Everybody of the business, those who may sign in first, by name."""
    return list(User.objects.order_by("-is_active", "first_name", "last_name", "username"))


def person(pk: int) -> User | None:
    """A person of the business."""
    return User.objects.filter(pk=pk).first()


def seen_of_person(user: User) -> str:
    """The print of a person's sheet, password included as far as it can be told that it changed."""
    return canonical.sha256(canonical.dumps([person_words(user), user.username, user.get_session_auth_hash()]))[:16]


def person_words(user: User) -> str:
    """Name, role and state in one line."""
    return f"{user.first_name} {user.last_name}, {user.role}, account {'open' if user.is_active else 'closed'}"


def far_off() -> date:
    """The last day that a price may begin on: two years from today."""
    return clock.today() + timedelta(days=731)


# What a person may do, and the page whose button does it. The roles are read from the page itself.
POWERS = (
    ("open a job card", "jobs:enquiry"),
    ("write and price lines", "jobs:line_new"),
    ("send a quote", "quotes:send"),
    ("take down a go-ahead by telephone", "quotes:phoned"),
    ("close a job card", "jobs:close"),
    ("issue an invoice", "invoices:invoice_new"),
    ("take a payment", "invoices:pay"),
    ("credit an invoice", "invoices:credit"),
    ("export the books", "bookkeeping:batches"),
    ("set prices, texts and staff", "company:settings"),
)
ANYBODY, SIGNED_IN = "by link, without signing in", "everybody who signs in"


@dataclass(frozen=True)
class Power:
    """A page or a button: what it does, its name, and who may, as roles and in words."""

    words: str
    page: str
    roles: frozenset[str]
    for_whom: str = ""


def pressed_by(view: Callable[..., Any]) -> frozenset[str]:
    """The roles whose button works: those that may open the page, or the fewer that it names in `closed_to` for its button."""
    roles: frozenset[str] = getattr(view, "roles", frozenset())
    bare = inspect.unwrap(view)
    names = bare.__code__.co_names if "closed_to" in bare.__code__.co_names else ()
    fewer = [bare.__globals__[name] for name in names if isinstance(bare.__globals__.get(name), tuple)]
    return roles.intersection(*fewer)


def sheets() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Every page of ours and its view, from the table of addresses."""

    def walk(resolver: URLResolver, room: str) -> Iterator[tuple[str, Callable[..., Any]]]:
        for entry in resolver.url_patterns:
            if isinstance(entry, URLResolver):
                yield from walk(entry, entry.namespace or room)
            elif isinstance(entry, URLPattern) and room and entry.name and entry.callback.__module__.startswith("workshop."):
                yield f"{room}:{entry.name}", entry.callback

    return walk(get_resolver(), "")


def powers() -> list[Power]:
    """What matters, each with the roles that may."""
    views = dict(sheets())
    return [Power(words, page, pressed_by(views[page])) for words, page in POWERS if page in views]


def every_sheet() -> list[Power]:
    """Every page by name, with who may open it."""
    return [_opened(page, view) for page, view in sorted(dict(sheets()).items())]


def _opened(page: str, view: Callable[..., Any]) -> Power:
    words = " ".join((inspect.unwrap(view).__doc__ or "").split()).partition(". ")[0].rstrip(".")
    roles: frozenset[str] = getattr(view, "roles", frozenset())
    for_whom = ", ".join(sorted(roles, key=User.Role.values.index)) or (SIGNED_IN if getattr(view, "login_required", True) else ANYBODY)
    return Power(words, page, roles, for_whom)
