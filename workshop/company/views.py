"""The owner's sheets: what stands on paper, prices, numbers, texts, people."""

from collections.abc import Callable
from types import SimpleNamespace
from typing import Any, cast

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from workshop import clock
from workshop.calc import numbering
from workshop.company import actions, queries
from workshop.company.forms import (
    CallOutForm,
    FirstNumberForm,
    IdentityForm,
    NewPersonForm,
    PersonForm,
    RateForm,
    Sheet,
    WordingForm,
    identity_of,
    person_of,
)
from workshop.company.models import CallOutRule, Company, Rate
from workshop.history.actions import acting
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.pages.templatetags.pages_format import money
from workshop.staff.models import User

OWNER = "owner"


def the_company() -> Company:
    """The business, or a calm 404 before it is set up."""
    try:
        return queries.company()
    except Company.DoesNotExist:
        raise Http404 from None


def saved(request: HttpRequest, form: Any, seen: Callable[[], str], do: Callable[[dict[str, Any]], str]) -> bool:
    """Whether the form was good and the verb went through; what it says stands on the next page.

    When refused, the sentence stands beside its box. When stale, the sheet takes over what is on file, so that the next press counts."""
    if not form.is_valid():
        return False
    try:
        said = do(form.typed() if isinstance(form, Sheet) else form.cleaned_data)
    except actions.Stale as stale:
        form.add_error(None, f"{stale} Press again, and what stands here counts.")
        form.show(seen())
        return False
    except actions.Refused as refusal:
        form.add_error(refusal.box or None, str(refusal))
        return False
    messages.success(request, said)
    return True


@require_safe
@for_roles(OWNER)
def settings(request: HttpRequest) -> HttpResponse:
    """The whole business on one sheet, each part with the way to its form."""
    company, today = the_company(), clock.today()
    newest = queries.newest_wordings()
    context = {
        "company": company,
        "profile": actions.tax_profile(company.tax_profile),
        "tax_rates": [(row, row.rate * 100) for row in queries.in_force(queries.tax_rates(), today)],
        "rates": queries.in_force(queries.rates(), today),
        "rule": next(iter(queries.in_force(queries.call_out_rules(), today)), None),
        "series": queries.series(today.year)[: len(queries.SERIES)],
        "wordings": [(words, newest.get(kind)) for kind, words in queries.WORDINGS.items()],
        "people": [user for user in queries.people() if user.is_active],
    }
    return render(request, "company/settings.html", context)


@get_or_post
@for_roles(OWNER)
def identity(request: HttpRequest) -> HttpResponse:
    """What stands on the paper of the business."""
    company = the_company()
    registration = actions.tax_profile(company.tax_profile)["registration"]
    initial = {**identity_of(company), "seen": queries.seen_of_identity(company)}
    form = IdentityForm(request.POST or None, registration=registration, initial=initial)
    if request.method != "POST":
        return render(request, "company/identity.html", {"form": form})

    def change(typed: dict[str, Any]) -> str:
        words = actions.change_identity(acting(request), **typed)
        return f"Saved: {', '.join(words)}. Papers that are out stay as they are." if words else "Nothing was changed."

    if saved(request, form, lambda: queries.seen_of_identity(queries.company()), change):
        return redirect("company:settings")
    return refuse(request, "company/identity.html", {"form": form})


@get_or_post
@for_roles(OWNER)
def rates(request: HttpRequest) -> HttpResponse:
    """Hourly rates by class from a day, and the form for the next."""
    rows = queries.rates()
    classes = list(dict.fromkeys([*queries.RATE_CLASSES, *(row.rate_class for row in rows)]))
    form = RateForm(request.POST or None, classes=classes, initial={"seen": queries.seen_of(rows)})
    context = {"form": form, "rows": rows, "in_force": queries.in_force(rows, clock.today()), "today": clock.today()}
    if request.method != "POST":
        return render(request, "company/rates.html", context)

    def set_rate(typed: dict[str, Any]) -> str:
        rate = actions.set_rate(acting(request), **typed)
        return f"{rate.rate_class} is {money(rate.hour_amount)} from {rate.from_on}. {_kept(rate.from_on)}"

    if saved(request, form, lambda: queries.seen_of(queries.rates()), set_rate):
        return redirect("company:rates")
    return refuse(request, "company/rates.html", context | {"rows": queries.rates()})


def _kept(from_on: Any) -> str:
    last = queries.last_number_on()
    if from_on < clock.today() or (last and from_on <= last):
        return "That day is past: what was sent or issued since then keeps its price."
    return "What was sent or issued before keeps its price."


@get_or_post
@for_roles(OWNER)
def call_out(request: HttpRequest) -> HttpResponse:
    """The call-out rule from a day, with an example worked out by it. The button for the example saves nothing."""
    rows, hours = queries.call_out_rules(), queries.in_force(queries.rates(), clock.today())
    form = CallOutForm(request.POST or None, classes=[rate.rate_class for rate in hours], initial=_rule_shown(rows))
    context = {"form": form, "rows": rows, "in_force": queries.in_force(rows, clock.today()), "today": clock.today(), "hours": hours}
    if request.method != "POST":
        shown = CallOutForm({name: field.value() for name in form.fields if (field := form[name])}, classes=[r.rate_class for r in hours])
        return render(request, "company/call_out.html", context | {"example": _example(shown, hours)})
    if "work_out" in request.POST:
        return render(request, "company/call_out.html", context | {"example": _example(form, hours)})

    def set_rule(typed: dict[str, Any]) -> str:
        rule = actions.set_call_out(acting(request), **typed)
        return f"The call-out rule holds from {rule.from_on}. {_kept(rule.from_on)}"

    if saved(request, form, lambda: queries.seen_of(queries.call_out_rules()), set_rule):
        return redirect("company:call_out")
    return refuse(request, "company/call_out.html", context | {"rows": queries.call_out_rules(), "example": _example(form, hours)})


def _rule_shown(rows: list[CallOutRule]) -> dict[str, Any]:
    """The newest rule, to be followed by the next; 34 km and 41 minutes as the way of the example."""
    rule = rows[0] if rows else CallOutRule(travel_class="travel")
    fields = ("base_amount", "free_km", "km_amount", "travel_class", "night_factor", "weekend_factor", "night_begins", "night_ends")
    return {**{name: getattr(rule, name) for name in fields}, "seen": queries.seen_of(rows), "example_km": "34", "example_minutes": "41"}


def _example(form: CallOutForm, hours: list[Rate]) -> dict[str, Any] | None:
    """The way worked out by what is typed, by day, by night and at the weekend. None while a box cannot be read."""
    form.is_valid()
    typed = SimpleNamespace(**form.cleaned_data)
    needed = {"base_amount", "free_km", "km_amount", "travel_class", "night_factor", "weekend_factor", "example_km", "example_minutes"}
    if not needed <= form.cleaned_data.keys():
        return None
    rule = CallOutRule(base_amount=typed.base_amount, free_km=typed.free_km, km_amount=typed.km_amount)
    hour = next(rate.hour_amount for rate in hours if rate.rate_class == typed.travel_class)

    def at(factor: Any) -> queries.CallOutPrice:
        return queries.call_out_price(rule, hour, km_each_way=typed.example_km, minutes_each_way=typed.example_minutes, factor=factor)

    beyond = max(0, 2 * (typed.example_km - typed.free_km))
    priced = {"day": at(1), "night": at(typed.night_factor), "weekend": at(typed.weekend_factor)}
    return {"typed": typed, "hour": hour, "beyond": beyond, "minutes": 2 * typed.example_minutes, **priced}


@get_or_post
@for_roles(OWNER)
def series(request: HttpRequest) -> HttpResponse:
    """The number series, and where one may begin that has given no number this year."""
    year = clock.today().year
    form = FirstNumberForm(request.POST or None, initial={"seen": queries.seen_of_series(year)})
    context = {"form": form, "rows": queries.series(year), "year": year}
    if request.method != "POST":
        return render(request, "company/series.html", context)

    def begin(typed: dict[str, Any]) -> str:
        begun = actions.set_first_number(acting(request), year=year, **typed)
        return f"The next one is {numbering.number(begun.kind, year, begun.starts_after + 1)}."

    if saved(request, form, lambda: queries.seen_of_series(year), begin):
        return redirect("company:series")
    return refuse(request, "company/series.html", context | {"rows": queries.series(year)})


@require_safe
@for_roles(OWNER)
def wordings(request: HttpRequest) -> HttpResponse:
    """The texts of the business, the newest of each kind."""
    newest = queries.newest_wordings()
    texts = [(kind, words, newest.get(kind)) for kind, words in queries.WORDINGS.items()]
    unused = [wording for kind, wording in newest.items() if kind not in queries.WORDINGS]
    return render(request, "company/wordings.html", {"texts": texts, "unused": unused})


@get_or_post
@for_roles(OWNER)
def wording(request: HttpRequest, kind: str) -> HttpResponse:
    """The next version of a text, and the ones before."""
    if kind not in queries.WORDINGS:
        raise Http404
    rows = queries.wordings(kind)
    form = WordingForm(request.POST or None, initial={"text": rows[0].text if rows else "", "seen": rows[0].no if rows else 0})
    context = {"form": form, "kind": kind, "words": queries.WORDINGS[kind], "rows": rows, "next_no": rows[0].no + 1 if rows else 1}
    if request.method != "POST":
        return render(request, "company/wording.html", context)

    def newest() -> str:
        found = queries.wording(kind)
        return str(found.no if found else 0)

    def write(typed: dict[str, Any]) -> str:
        written = actions.write_wording(acting(request), kind, **typed)
        return f"Version {written.no} is written. What went out before keeps its own."

    if saved(request, form, newest, write):
        return redirect("company:wordings")
    return refuse(request, "company/wording.html", context)


@require_safe
@for_roles(OWNER)
def people(request: HttpRequest) -> HttpResponse:
    """Who signs in, and with which role."""
    return render(request, "company/people.html", {"people": queries.people()})


@get_or_post
@for_roles(OWNER)
def person_new(request: HttpRequest) -> HttpResponse:
    """Somebody who is to sign in from now on."""
    form = NewPersonForm(request.POST or None)
    if request.method != "POST":
        return render(request, "company/person_new.html", {"form": form})

    def add(typed: dict[str, Any]) -> str:
        added = actions.add_person(acting(request), **typed)
        return f"{added} may sign in as {added.username}. Hand over the password in person."

    if saved(request, form, str, add):
        return redirect("company:people")
    return refuse(request, "company/person_new.html", {"form": form})


@get_or_post
@for_roles(OWNER)
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """A person's name, role, account, and a new password."""
    user = queries.person(pk)
    if user is None:
        raise Http404
    form = PersonForm(request.POST or None, initial={**person_of(user), "seen": queries.seen_of_person(user)})
    context = {"form": form, "person": user}
    if request.method != "POST":
        return render(request, "company/person.html", context)

    def change(typed: dict[str, Any]) -> str:
        words = actions.change_person(acting(request), pk, **typed)
        return f"{queries.person(pk)}: {', '.join(words)}." if words else "Nothing was changed."

    def seen() -> str:
        return queries.seen_of_person(cast(User, queries.person(pk)))

    if saved(request, form, seen, change):
        if user == request.user and (now := queries.person(pk)):
            update_session_auth_hash(request, now)
        return redirect("company:people")
    return refuse(request, "company/person.html", context)


@require_safe
@for_roles(OWNER)
def powers(request: HttpRequest) -> HttpResponse:
    """Who may do what, read from the pages themselves."""
    roles = User.Role.values
    rows = [(power, [(role, role in power.roles) for role in roles]) for power in queries.powers()]
    return render(request, "company/powers.html", {"roles": roles, "powers": rows, "sheets": queries.every_sheet()})
