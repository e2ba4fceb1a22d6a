"""Parts that sit in the vehicle: fitted, taught in, taken off."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.forms.models import model_to_dict
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop import clock
from workshop.history.actions import acting
from workshop.jobs.actions import Refused
from workshop.jobs.models import Card
from workshop.pages.boxes import LOST
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.photos.models import Photo
from workshop.vehicles import queries as vehicles
from workshop.worksheets import actions, queries
from workshop.worksheets.forms import CorrectForm, FittingForm, LetGoForm, RowForm, TakeOffForm, TeachForm
from workshop.worksheets.forms.parts import MOST_ROWS
from workshop.worksheets.models import FittedPart
from workshop.worksheets.views.common import READERS, WRITERS, found_card, named_uid, picture, role_of, works

CYLINDERS = ("4", "5", "6", "8")
Typed = dict[str, Any]
FORMS: dict[str, type[forms.Form]] = {"teach": TeachForm, "let_go": LetGoForm, "take_off": TakeOffForm, "correct": CorrectForm}


@require_safe
@for_roles(*READERS)
def parts(request: HttpRequest, pk: int) -> HttpResponse:
    """What sits in the vehicle, by place, and what was fitted or came off on this card."""
    return render(request, "worksheets/parts.html", _sheet(request, found_card(pk)))


def _sheet(request: HttpRequest, card: Card, refused: FittedPart | None = None, **instead: Any) -> dict[str, Any]:
    """The parts, each with the forms of its buttons; the refused one as it was typed."""
    rows = []
    for part in queries.sitting_or_of(card):
        stands = model_to_dict(part, ["position", "serial", "code", "part_number"])
        made: dict[str, Any] = {name: form(auto_id=f"id_{part.pk}_{name}_%s", initial=stands) for name, form in FORMS.items()}
        rows.append((part, {**made, **instead} if part == refused else made))
    wrong = next((form for form in instead.values() if isinstance(form, forms.Form)), None)
    waiting = [part for part, _ in rows if part.untaught and part.card_id == card.pk]
    all_form = instead.get("all") or TeachForm(auto_id="id_all_%s")
    more = {"owner": role_of(request) == "owner", "form": wrong, "waiting": waiting, "all": all_form, "all_kept": instead.get("kept")}
    return {"card": card, "parts": rows, "works": works(request, card), **more}


def _press(
    request: HttpRequest, pk: int, name: str, verb: Callable[[Card, FittedPart, Typed, Photo | None], FittedPart], said: str
) -> HttpResponse:
    """A button of one part: done, or the sheet again with what was typed."""
    card, part = found_card(pk), queries.part(named_uid(request, "part"))
    form = FORMS[name](request.POST, auto_id=f"id_{part.pk if part else 0}_{name}_%s")
    if part is None:
        form.add_error(None, LOST)
        return refuse(request, "worksheets/parts.html", _sheet(request, card) | {"form": form})
    photo, wrong = picture(request) if name == "teach" else (None, "")
    if wrong:
        form.add_error(None, wrong)
    if form.is_valid():
        try:
            done = verb(card, part, form.cleaned_data, photo)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, said.format(part=done))
            return redirect("worksheets:parts", card.pk)
    return refuse(request, "worksheets/parts.html", _sheet(request, card, part, **{name: form, "kept": photo}))


@require_POST
@for_roles(*WRITERS)
def teach_in(request: HttpRequest, pk: int) -> HttpResponse:
    """The control unit knows the part: words or a photo prove it."""
    actor = acting(request)
    return _press(
        request,
        pk,
        "teach",
        lambda card, part, typed, photo: actions.teach_in(actor, card, part, typed["words"], photo),
        "{part} is taught in.",
    )


@require_POST
@for_roles(*WRITERS)
def teach_in_all(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything that was fitted on the card is taught in, in one session."""
    card, form = found_card(pk), TeachForm(request.POST, auto_id="id_all_%s")
    photo, wrong = picture(request)
    if wrong:
        form.add_error(None, wrong)
    if form.is_valid():
        try:
            taught = actions.teach_in_all(acting(request), card, form.cleaned_data["words"], photo)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"{len(taught)} parts are taught in.")
            return redirect("worksheets:parts", card.pk)
    return refuse(request, "worksheets/parts.html", _sheet(request, card, all=form, kept=photo))


@require_POST
@for_roles(*WRITERS)
def part_correct(request: HttpRequest, pk: int) -> HttpResponse:
    """What was read wrongly off a part is put right."""
    actor = acting(request)
    return _press(
        request, pk, "correct", lambda card, part, typed, _: actions.correct_part(actor, card, part, **typed), "Corrected: {part}."
    )


@require_POST
@for_roles("owner")
def let_go(request: HttpRequest, pk: int) -> HttpResponse:
    """The owner lets the vehicle leave although a part is not taught in."""
    actor = acting(request)
    return _press(
        request,
        pk,
        "let_go",
        lambda card, part, typed, _: actions.let_go(actor, card, part, typed["reason"]),
        "{part} holds the vehicle no longer. The hand-over sheet says: not taught in, limited use.",
    )


@require_POST
@for_roles(*WRITERS)
def take_off(request: HttpRequest, pk: int) -> HttpResponse:
    """A part comes off and nothing takes its place."""
    actor = acting(request)
    return _press(
        request,
        pk,
        "take_off",
        lambda card, part, typed, _: actions.take_off(actor, card, part, typed["became"]),
        "{part} is off. It stays in the vehicle book.",
    )


def _places(request: HttpRequest) -> list[str]:
    """The places that the rows begin with: `?cylinders=4`, or so many empty ones by `?rows=`."""
    asked, rows = request.GET.get("cylinders", ""), request.POST.get("rows") or request.GET.get("rows", "")
    if asked in CYLINDERS:
        return [f"cylinder {n}" for n in range(1, int(asked) + 1)]
    return [""] * (int(rows) if rows in map(str, range(1, MOST_ROWS + 1)) else 1)


@get_or_post
@for_roles(*WRITERS)
def fit(request: HttpRequest, pk: int) -> HttpResponse:
    """Parts of one kind, each in its place: one row a place."""
    card, places = found_card(pk), _places(request)
    first = {"fitted_on": clock.today(), "km": vehicles.run(card.vehicle, "km"), "line": request.GET.get("line", "")[:18]}
    form = FittingForm(card, request.POST or None, initial=first)
    rows = [RowForm(request.POST or None, prefix=f"row{n}", initial={"position": place}) for n, place in enumerate(places)]
    context: dict[str, Any] = {"form": form, "rows": rows, "card": card, "cylinders": CYLINDERS, "known": queries.sitting_or_of(card)}
    if request.method != "POST":
        return render(request, "worksheets/fit.html", context)
    filled = [row for row in rows if row.filled()]
    good = [row.is_valid() for row in filled]
    if form.is_valid() and all(good):
        typed = form.cleaned_data
        number = typed.pop("part_number")
        try:
            fitted = actions.fit_parts(acting(request), card, rows=[row.row(number) for row in filled], **typed)
        except Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Fitted: {len(fitted)} × {fitted[0].part}.")
            return redirect("worksheets:parts", card.pk)
    for row in filled:
        for sentences in row.errors.values():
            form.add_error(None, f"Row {int(str(row.prefix)[3:]) + 1}: {sentences[0]}")
    return refuse(request, "worksheets/fit.html", context)
