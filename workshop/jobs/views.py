"""The mechanic's sheets of a card."""

import uuid as uuids
from collections.abc import Callable
from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from workshop.calc.labour import SetPrice
from workshop.customers import queries as customers
from workshop.customers.models import Party
from workshop.history import queries as history
from workshop.history.actions import Actor
from workshop.jobs import actions, queries
from workshop.jobs.forms import ComplaintForm, EnquiryForm, LineForm, StepForm, rows_in, typed_line
from workshop.jobs.models import Card, Complaint, Line
from workshop.outbox import actions as outbox
from workshop.pages.roles import for_roles, refuse
from workshop.pages.templatetags.pages_format import money
from workshop.staff.models import User
from workshop.vehicles import queries as vehicles

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")
LAST_TOLD = 5
get_or_post = require_http_methods(["GET", "HEAD", "POST"])


def acting(request: HttpRequest) -> Actor:
    """Who presses the button."""
    return Actor.of(cast(User, request.user))


def found_card(pk: int) -> Card:
    """The card or a calm 404."""
    card = queries.card(pk)
    if card is None:
        raise Http404
    return card


def found_line(uid: uuids.UUID) -> Line:
    """The line or a calm 404."""
    line = queries.line(uid)
    if line is None:
        raise Http404
    return line


@get_or_post
@for_roles(*READERS)
def enquiry(request: HttpRequest) -> HttpResponse:
    """A new card: who calls, which vehicle, what is wrong, where and when. `?customer=` takes a known one and `&vehicle=` one of theirs,
    `?q=` looks for one."""
    party = _known_customer(request)
    owned = list(vehicles.of_owner(party)) if party else []
    mine = [str(vehicle.pk) for vehicle in owned] or [""]
    chosen = request.GET.get("vehicle", "")
    initial = {"moves": "", "vehicle": chosen if chosen in mine else mine[0]}
    form = EnquiryForm(request.POST or None, known=party, vehicles=owned, initial=initial)
    wanted = request.GET.get("q", "")[:60].strip()
    context = {"form": form, "customer": party, "wanted": wanted, "matching": customers.matching(wanted) if wanted else []}
    if request.method != "POST":
        return render(request, "jobs/enquiry.html", context)
    if not form.is_valid():
        return refuse(request, "jobs/enquiry.html", context)
    taken = actions.take_enquiry(acting(request), **form.enquiry())
    if taken.stop_signs:
        messages.warning(request, "Tell the caller now: do not drive it, do not start it.")
    if doubt := form.doubt():
        messages.warning(request, f"Vehicle number {taken.vehicle.vin} is saved. {doubt}")
    return redirect("jobs:card", taken.pk)


@require_safe
@for_roles(*READERS)
def known(request: HttpRequest) -> HttpResponse:
    """Customers and vehicles on file that begin with what is being typed: a piece of the enquiry."""
    name, phone, plate = (request.GET.get(box, "")[:60].replace("\x00", "").strip() for box in ("name", "phone", "plate"))
    return render(request, "jobs/known.html", {"parties": customers.known(name, phone), "vehicles": vehicles.known(plate)})


def _known_customer(request: HttpRequest) -> Party | None:
    pk = request.POST.get("customer") or request.GET.get("customer")
    if not pk:
        return None
    party = customers.party(int(pk)) if pk.isascii() and pk.isdecimal() and len(pk) < 18 else None
    if party is None:
        raise Http404
    return party


def found_complaint(text: str) -> Complaint:
    """The complaint of a uid in an address, or a calm 404."""
    try:
        complaint = queries.complaint(uuids.UUID(text))
    except ValueError:
        raise Http404 from None
    if complaint is None:
        raise Http404
    return complaint


@get_or_post
@for_roles(*READERS)
def complaint_new(request: HttpRequest, pk: int) -> HttpResponse:
    """One more complaint, or with `?complaint=` what is asked about one that is there."""
    card, wanted = found_card(pk), request.GET.get("complaint", "")
    known = found_complaint(wanted) if wanted else None
    if known and known.card_id != card.pk:
        raise Http404
    form = ComplaintForm(request.POST or None, known=known)
    context = {"form": form, "card": card, "complaint": known}
    if request.method != "POST":
        return render(request, "jobs/complaint_new.html", context)
    if not form.is_valid():
        return refuse(request, "jobs/complaint_new.html", context)
    try:
        if known:
            actions.complete_complaint(acting(request), known, form.told())
        else:
            actions.add_complaint(acting(request), card, form.cleaned_data["words"], form.told(), form.cleaned_data["uid"])
    except actions.Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, "jobs/complaint_new.html", context)
    return redirect("jobs:card", card.pk)


@require_POST
@for_roles(*WRITERS)
def outcome(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """What came of a complaint."""
    complaint, chosen = found_complaint(str(uid)), request.POST.get("outcome", "")
    return _done(request, complaint.card_id, lambda: actions.set_outcome(acting(request), complaint, chosen))


@require_safe
@for_roles(*READERS)
def card(request: HttpRequest, pk: int) -> HttpResponse:
    """The job card."""
    return card_sheet(request, pk)


def card_sheet(request: HttpRequest, pk: int, refused: str = "", status: int = 200, **typed: Any) -> HttpResponse:
    """The card, with the sentence of what was refused on top and what was typed."""
    sheet = queries.card_page(pk)
    if sheet is None:
        raise Http404
    context: dict[str, Any] = {"card": sheet, "refused": refused, "advice": actions.ADVICE, **typed}
    context |= {"people": {role.kind: role for role in sheet.roles.all()}, "told": history.of_card(pk, LAST_TOLD)}
    said = list(sheet.complaints.all())
    context |= {"said": said, "unended": [complaint for complaint in said if not complaint.outcome]}
    context |= {"outcomes": Complaint.Outcome.choices, "works": cast(User, request.user).role in WRITERS, **_work(sheet)}
    return render(request, "jobs/card.html", context, status=status)


def _work(card: Card) -> dict[str, Any]:
    """Lines with their prices, and what is stopped. Without a rate the card says so instead of prices."""
    lines = list(card.lines.all())
    try:
        priced = queries.priced(card)
    except LookupError as unset:
        return {"lines": [(line, None) for line in lines], "unpriced": str(unset), **_ahead(card, lines)}
    return {"lines": [(line, priced.nets[line.number]) for line in lines], "priced": priced, **_ahead(card, lines)}


def _ahead(card: Card, lines: list[Line]) -> dict[str, Any]:
    """What stops the card, and which step most people want next."""
    running = card.state == Card.State.OPEN
    ordered = [line for line in lines if line.answer == Line.Answer.ACCEPTED]
    undone = [line for line in ordered if line.progress in {Line.Progress.PLANNED, Line.Progress.STARTED}]
    held = [hold for hold in card.held if hold.line is None or hold.line in ordered]  # type: ignore[attr-defined]
    drafts = any(line.answer == Line.Answer.DRAFT for line in lines)
    return {"running": running, "held": held, "undone": undone, "all_done": bool(ordered) and not undone, "drafts": drafts}


@get_or_post
@for_roles(*WRITERS)
def line_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A new line of work on a card."""
    card = found_card(pk)

    def save(form: LineForm) -> Line:
        return actions.add_line(acting(request), card, **form.line())

    return _line_sheet(request, "jobs/line_new.html", card, save, {"kind": Line.Kind.FAILED})


@get_or_post
@for_roles(*WRITERS)
def line(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A draft line again, to put minutes and prices right."""
    draft = found_line(uid)
    if draft.answer != Line.Answer.DRAFT:
        return card_sheet(request, draft.card_id, f"Line {draft.number} was shown to the customer. Add a new line instead.", 409)

    def save(form: LineForm) -> Line:
        return actions.change_line(acting(request), draft, **form.line())

    return _line_sheet(request, "jobs/line.html", draft.card, save, typed_line(draft), draft=draft)


def _line_sheet(
    request: HttpRequest, template: str, card: Card, save: Callable[[LineForm], Line], shown: dict[str, Any], *, draft: Line | None = None
) -> HttpResponse:
    """The sheet of a line: shown, given one more row of parts, refused, or saved."""
    rows = rows_in(request.POST) if request.method == "POST" else rows_in(cast(Any, shown))
    context: dict[str, Any] = {"card": card, "line": draft}
    if request.method != "POST" or "more" in request.POST:
        typed = {**request.POST.dict(), "steps": request.POST.getlist("steps")} if request.method == "POST" else shown
        more = 1 if "more" in request.POST else 0
        return render(request, template, {**context, "form": LineForm(card, initial=typed, rows=rows + more)})
    form = LineForm(card, request.POST, rows=rows)
    if not form.is_valid():
        return refuse(request, template, {**context, "form": form})
    try:
        saved = save(form)
    except actions.Refused as refused:
        form.add_error(None, str(refused))
        return refuse(request, template, {**context, "form": form})
    messages.success(request, _told_price(card, saved))
    return redirect("jobs:card", card.pk)


def _told_price(card: Card, line: Line) -> str:
    """What the line costs and what all come to now."""
    try:
        priced = queries.priced(found_card(card.pk))
    except LookupError:
        return f"Line {line.number} is on the card."
    total: SetPrice = priced.live
    return f"Line {line.number} is on the card: {money(priced.nets[line.number])} net. All lines: {money(total.gross)} with tax."


@get_or_post
@for_roles(*WRITERS)
def step_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A new access step on a card."""
    card = found_card(pk)
    form = StepForm(card, request.POST or None)
    if request.method != "POST":
        return render(request, "jobs/step_new.html", {"form": form, "card": card})
    if form.is_valid():
        try:
            step = actions.add_step(acting(request), card, **form.step())
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Access step {step.position} is on the card: {step.words}. Lines that need it choose it.")
            return redirect("jobs:line_new" if "then_line" in request.POST else "jobs:card", card.pk)
    return refuse(request, "jobs/step_new.html", {"form": form, "card": card})


@require_POST
@for_roles(*WRITERS)
def note(request: HttpRequest, pk: int) -> HttpResponse:
    """Saves a note. The same page sent twice saves it once."""
    card, typed = found_card(pk), request.POST.get("words", "").replace("\x00", "")
    words = typed.replace("\r\n", "\n").strip()
    try:
        op_uid = uuids.UUID(request.POST.get("op_uid", ""))
    except ValueError:
        return card_sheet(request, pk, "The page has lost its number. Load it again, your words are below.", 422, note_words=typed)
    if not words or len(words) > 10_000:
        sentence = f"{len(words):,} characters. A note has 1 to 10,000: write what the next reader must know."
        return card_sheet(request, pk, "The note was not saved.", 422, note_words=typed, note_error=sentence)

    def save() -> dict[str, Any]:
        return {"note": str(actions.add_note(acting(request), card, words, uid=op_uid).uid), "card": pk}

    try:
        outbox.once(op_uid, cast(User, request.user), f"note {pk} {words}".encode(), save)
    except (outbox.Conflict, actions.Refused):
        return card_sheet(request, pk, "This page saved another note before. Yours is below: save it again.", 409, note_words=typed)
    return redirect("jobs:card", pk)


def _done(request: HttpRequest, pk: int, verb: Callable[[], object], **typed: Any) -> HttpResponse:
    """Does what the button says and shows the card; what is refused is a sentence on it."""
    try:
        verb()
    except actions.Refused as refused:
        return card_sheet(request, pk, str(refused), 409, **typed)
    return redirect("jobs:card", pk)


@require_POST
@for_roles(*WRITERS)
def start(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """Work on a line begins."""
    line = found_line(uid)
    return _done(request, line.card_id, lambda: actions.start_line(acting(request), line))


@require_POST
@for_roles(*WRITERS)
def finish(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A line is done."""
    line = found_line(uid)
    return _done(request, line.card_id, lambda: actions.finish_line(acting(request), line))


@require_POST
@for_roles(*WRITERS)
def advise(request: HttpRequest, pk: int) -> HttpResponse:
    """May it be driven?"""
    card, advice, words = found_card(pk), request.POST.get("advice", ""), request.POST.get("words", "").replace("\x00", "")
    if len(words) > 200:
        sentence = f"{len(words):,} characters. At most 200: one sentence the customer understands."
        return card_sheet(request, pk, sentence, 422, advice_words=words, advice_chosen=advice)
    again = {"advice_words": words, "advice_chosen": advice}
    return _done(request, pk, lambda: actions.set_advice(acting(request), card, advice, words), **again)


@require_POST
@for_roles(*WRITERS)
def ready(request: HttpRequest, pk: int) -> HttpResponse:
    """The vehicle may leave."""
    card = found_card(pk)
    return _done(request, pk, lambda: actions.mark_ready(acting(request), card))


@require_POST
@for_roles(*WRITERS)
def close(request: HttpRequest, pk: int) -> HttpResponse:
    """The visit is over."""
    card = found_card(pk)
    return _done(request, pk, lambda: actions.close_card(acting(request), card))
