"""The catalogue for who keeps it: what is in it, an operation, a kit."""

import uuid as uuids
from collections.abc import Callable
from typing import Any, cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.catalogue import actions, queries
from workshop.catalogue.forms import OperationForm, typed_operation
from workshop.catalogue.models import Kit, Operation
from workshop.history.actions import Actor
from workshop.pages.boxes import plain_text, rows_in
from workshop.pages.roles import closed_to, for_roles, get_or_post, refuse
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")


@require_safe
@for_roles(*READERS)
def operations(request: HttpRequest) -> HttpResponse:
    """Operations and kits, by words; what was taken out stands below with its reason."""
    try:
        words = " ".join(plain_text(request.GET.get("q", "")).split())[:100]
    except ValueError:
        words = ""
    steps, rate = queries.all_steps(), queries.rate_today()
    found = list(queries.operations(words)[: queries.MOST_SHOWN + 1])
    context: dict[str, Any] = {"typed": words, "more": len(found) > queries.MOST_SHOWN}
    context["operations"] = [(one, queries.alone([one], steps, rate)) for one in found[: queries.MOST_SHOWN]]
    context["kits"] = queries.kits(words)[: queries.MOST_SHOWN]
    context["retired"] = [*queries.operations(words, retired=True)[: queries.MOST_SHOWN]]
    context["retired_kits"] = [*queries.kits(words, retired=True)[: queries.MOST_SHOWN]]
    return render(request, "catalogue/operations.html", context)


@get_or_post
@for_roles(*READERS)
def operation(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """An operation, changed by who works with it, read by the office."""
    kept, works = _operation(uid), cast(User, request.user).role in WRITERS
    context: dict[str, Any] = {"operation": kept, "works": works and not kept.retired_at}
    context["alone"] = queries.alone([kept], queries.all_steps(), queries.rate_today())
    if request.method != "POST":
        rows = min(max(3, len(kept.parts.all()) + 1), 30)
        return render(request, "catalogue/operation.html", {**context, "form": OperationForm(initial=typed_operation(kept), rows=rows)})
    if not works:
        return closed_to(request, WRITERS)
    if "more" in request.POST:
        form = OperationForm(initial=request.POST.dict(), rows=min(rows_in(request.POST) + 1, 30))
        return render(request, "catalogue/operation.html", {**context, "form": form})
    form = OperationForm(request.POST, rows=rows_in(request.POST))
    if form.is_valid():
        try:
            saved = actions.change_operation(Actor.of(cast(User, request.user)), kept, **form.operation())
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, f"Kept: {saved.words}. Cards that have it already stay as they are.")
            return redirect("catalogue:operation", saved.uid)
    return refuse(request, "catalogue/operation.html", {**context, "form": form})


def _operation(uid: uuids.UUID) -> Operation:
    kept = queries.operation(uid)
    if kept is None:
        raise Http404
    return kept


@require_safe
@for_roles(*READERS)
def kit(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A kit with its operations and what they come to together."""
    return render(request, "catalogue/kit.html", _kit_sheet(request, uid))


def _kit_sheet(request: HttpRequest, uid: uuids.UUID) -> dict[str, Any]:
    found = queries.kit(uid)
    if found is None:
        raise Http404
    each = [place.operation for place in found.operations.all()]
    together = queries.alone([one for one in each if not one.retired_at], queries.all_steps(), queries.rate_today())
    works = cast(User, request.user).role in WRITERS and not found.retired_at
    return {"kit": found, "operations": each, "alone": together, "works": works}


@require_POST
@for_roles(*WRITERS)
def retire_operation(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """An operation is offered no more; its cards and kits keep it."""
    kept = _operation(uid)
    actor, reason = Actor.of(cast(User, request.user)), request.POST.get("reason", "")

    def page(refused: str) -> HttpResponse:
        context: dict[str, Any] = {
            "operation": kept,
            "works": not kept.retired_at,
            "refused": refused,
            "reason": reason.replace("\x00", ""),
        }
        context["alone"] = queries.alone([kept], queries.all_steps(), queries.rate_today())
        return refuse(request, "catalogue/operation.html", {**context, "form": OperationForm(initial=typed_operation(kept))})

    return _retired(request, lambda: actions.retire_operation(actor, kept, plain_text(reason)), page)


@require_POST
@for_roles(*WRITERS)
def retire_kit(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A kit is offered no more; its operations stay."""
    context, actor, reason = _kit_sheet(request, uid), Actor.of(cast(User, request.user)), request.POST.get("reason", "")

    def page(refused: str) -> HttpResponse:
        return refuse(request, "catalogue/kit.html", {**context, "refused": refused, "reason": reason.replace("\x00", "")})

    return _retired(request, lambda: actions.retire_kit(actor, context["kit"], plain_text(reason)), page)


def _retired(request: HttpRequest, verb: Callable[[], Operation | Kit], page: Callable[[str], HttpResponse]) -> HttpResponse:
    try:
        gone = verb()
    except ValueError as refused:  # of plain_text or of the verb: both speak to the person
        return page(str(refused))
    messages.success(request, f"Out of the catalogue: {gone.words}. It stands below with its reason.")
    return redirect("catalogue:operations")
