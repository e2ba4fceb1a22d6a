"""A card and the catalogue: keep a line or a set, put an operation or a kit on the card."""

import uuid as uuids
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.catalogue import queries as kept
from workshop.history.actions import acting
from workshop.jobs import actions
from workshop.jobs.forms.catalogue import KeepForm, KitForm
from workshop.jobs.models import Card
from workshop.jobs.views.common import WRITERS, found_card, found_line
from workshop.pages.boxes import plain_text
from workshop.pages.roles import for_roles, get_or_post, refuse

GONE = "That is not in the catalogue any more. Choose from what is here."


@get_or_post
@for_roles(*WRITERS)
def operation_new(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A line kept as an operation for next time."""
    line = found_line(uid)
    form = KeepForm(request.POST or None)
    context = {"line": line, "card": line.card, "form": form}
    if request.method != "POST":
        return render(request, "jobs/operation_new.html", context)
    if form.is_valid():
        try:
            operation = actions.save_operation(acting(request), line, **form.kept())
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"In the catalogue: {operation.words}.")
            return redirect("jobs:card", line.card_id)
    return refuse(request, "jobs/operation_new.html", context)


@get_or_post
@for_roles(*WRITERS)
def kit_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Lines of a card kept as a kit."""
    card = found_card(pk)
    form = KitForm(card, request.POST or None)
    context = {"card": card, "form": form}
    if request.method != "POST":
        return render(request, "jobs/kit_new.html", context)
    if form.is_valid():
        typed = form.cleaned_data
        try:
            kit = actions.save_kit(acting(request), card, list(typed["lines"]), typed["words"], typed["uid"])
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"In the catalogue: the kit {kit.words}.")
            return redirect("jobs:card", card.pk)
    return refuse(request, "jobs/kit_new.html", context)


@require_safe
@for_roles(*WRITERS)
def catalogue(request: HttpRequest, pk: int) -> HttpResponse:
    """Operations and kits to be put on a card, by words, each with its minutes and its price by itself."""
    return _catalogue_sheet(request, found_card(pk))


def _catalogue_sheet(request: HttpRequest, card: Card, refused: str = "", status: int = 200) -> HttpResponse:
    words = _asked(request.GET.get("q", ""))
    steps, rate = kept.all_steps(), kept.rate_today()
    found, kits = list(kept.operations(words)[: kept.MOST_SHOWN + 1]), list(kept.kits(words)[: kept.MOST_SHOWN])
    context: dict[str, Any] = {"card": card, "typed": words, "refused": refused, "more": len(found) > kept.MOST_SHOWN}
    context["operations"] = [(one, kept.alone([one], steps, rate), uuids.uuid4()) for one in found[: kept.MOST_SHOWN]]
    live = [(kit, [place.operation for place in kit.operations.all() if not place.operation.retired_at]) for kit in kits]
    context["kits"] = [(kit, each, kept.alone(each, steps, rate), uuids.uuid4()) for kit, each in live if each]
    return render(request, "jobs/catalogue.html", context, status=status)


def _asked(words: str) -> str:
    try:
        return " ".join(plain_text(words).split())[:100]
    except ValueError:
        return ""


@require_POST
@for_roles(*WRITERS)
def put_on(request: HttpRequest, pk: int) -> HttpResponse:
    """An operation or a kit goes on the card."""
    card = found_card(pk)
    uid, operation_uid, kit_uid = (_uid(request.POST.get(name, "")) for name in ("uid", "operation", "kit"))
    operation = kept.operation(operation_uid) if operation_uid else None
    kit = kept.kit(kit_uid) if kit_uid else None
    if uid is None or not (operation or kit):
        return _catalogue_sheet(request, card, GONE, 422)
    try:
        if operation:
            put = actions.put_operation(acting(request), card, operation, uid=uid)
        elif kit:
            put = actions.put_kit(acting(request), card, kit, uid=uid)
    except actions.Refused as refused:
        return _catalogue_sheet(request, card, str(refused), 422)
    on = ", ".join(f"{line.number} {line.words}" for line in put.lines)
    messages.success(request, " ".join([f"On the card: {on}.", *put.shared]))
    return redirect("jobs:card", card.pk)


def _uid(text: str) -> uuids.UUID | None:
    try:
        return uuids.UUID(text)
    except ValueError:
        return None
