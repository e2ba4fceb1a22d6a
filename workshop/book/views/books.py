"""The search box, vehicle books and customers' sheets."""

import uuid as uuids
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from workshop.book import actions, forms
from workshop.book.queries import search as finding
from workshop.book.queries import visits
from workshop.book.views.common import DESK, READERS, role_of, sheet, there
from workshop.customers import actions as customers
from workshop.customers import queries as customer_queries
from workshop.history.actions import acting
from workshop.jobs import actions as jobs
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.photos import actions as photos
from workshop.photos import queries as find_photos
from workshop.photos.models import Photo
from workshop.vehicles import actions as vehicles
from workshop.vehicles import queries as vehicle_queries
from workshop.vehicles.models import Vehicle
from workshop.worksheets import queries as worksheets


@require_safe
@for_roles(*READERS)
def search(request: HttpRequest) -> HttpResponse:
    """One box for plate, name, telephone, card, invoice and vehicle number. Reads on in history first: upkeep of the index, no record."""
    typed = request.GET.get("q", "")[: finding.MOST_TYPED].replace("\x00", "").strip()
    fresh = actions.catch_up() if typed else True
    return render(request, "book/search.html", {"typed": typed, "found": finding.find(typed), "fresh": fresh})


@require_safe
@for_roles(*READERS)
def vehicle(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything ever known of one vehicle, newest first. `?before=` is a place in it, `?on=` the day of the parts that are shown."""
    known = there(visits.vehicle(pk))
    if known.merged_into_id:
        return redirect("book:vehicle", known.merged_into_id)
    units = {"km": vehicle_queries.run(known, "km"), "h": vehicle_queries.run(known, "h")}
    context: dict[str, Any] = {"vehicle": known, "run": units, "leaf": visits.leaf(known, request.GET.get("before", ""))}
    if "before" not in request.GET:
        context |= {"owners": visits.owners(known), "held": visits.held_readings(known), "before": visits.declined_before(known)}
        context |= {"follow_ups": worksheets.follow_ups_of(known), **_fitted(request, known)}
    return render(request, "book/vehicle.html", {**context, "desk": role_of(request) in DESK})


def _fitted(request: HttpRequest, known: Vehicle) -> dict[str, Any]:
    """The box for a day and the parts that sat in the vehicle on it; today's when no day is named, or none that is one."""
    box = forms.OnDayForm(request.GET if "on" in request.GET else None)
    day = box.cleaned_data["on"] if box.is_bound and box.is_valid() else None
    return {"box": box, "on": day, "fitted": worksheets.configuration(known, day)}


def _picture(request: HttpRequest) -> tuple[Photo | None, str]:
    """The picture that was sent now or kept from before, and the sentence when it was not taken."""
    kept = find_photos.by_uids(request.POST.getlist("kept")[:1])
    file = request.FILES.get("photo")
    if file is None:
        return (kept[0] if kept else None), ""
    try:
        return photos.take(file.read()), ""
    except photos.Refused as refused:
        return (kept[0] if kept else None), f"{str(file.name)[:60]}: {refused.sentence}"


@get_or_post
@for_roles(*READERS)
def reading_new(request: HttpRequest, pk: int) -> HttpResponse:
    """What a meter shows. Lower than before without a reason it is kept and held, never refused."""
    known = there(visits.vehicle(pk))
    known = known.merged_into or known
    form = forms.ReadingForm(request.POST or None, initial={"reason": ""})
    context: dict[str, Any] = {"form": form, "vehicle": known, "desk": True}
    if request.method != "POST":
        return render(request, "book/reading_new.html", context)
    context["kept"], context["photo_error"] = _picture(request)
    if not form.is_valid() or context["photo_error"]:
        return refuse(request, "book/reading_new.html", context)
    typed = form.cleaned_data
    how = {"photo": context["kept"], "reason": typed["reason"], "uid": typed["uid"]}
    try:
        kept = vehicles.read_meter(acting(request), known, typed["unit"], typed["value"], **how)
    except ValueError as refused:
        form.add_error(None, str(refused))
        return refuse(request, "book/reading_new.html", context)
    messages.success(request, f"Held. {kept.held_reason}" if kept.held_reason else "Reading saved.")
    return redirect("book:vehicle", known.pk)


@get_or_post
@for_roles(*READERS)
def reading(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A held reading, and why it is lower."""
    held = there(vehicle_queries.reading(uid))
    form, context = forms.ExplainForm(request.POST or None), {"reading": held, "vehicle": held.meter.vehicle}
    photo, wrong = _picture(request) if request.method == "POST" else (None, "")
    if wrong:
        return refuse(request, "book/reading.html", {**context, "form": form, "kept": photo, "photo_error": wrong})
    then = reverse("book:vehicle", args=[held.meter.vehicle_id])
    return sheet(
        request,
        "book/reading.html",
        form,
        lambda: vehicles.explain_reading(acting(request), held, form.cleaned_data["reason"], photo),
        then=then,
        said="The reading counts now.",
        kept=photo,
        **context,
    )


@get_or_post
@for_roles(*READERS)
def vehicle_details(request: HttpRequest, pk: int) -> HttpResponse:
    """What is written of a vehicle, to put it right."""
    known = there(visits.vehicle(pk))
    form = forms.VehicleForm(request.POST or None, initial=forms.VehicleForm.of(known))
    return sheet(
        request,
        "book/vehicle_details.html",
        form,
        lambda: vehicles.change_vehicle(acting(request), known, **form.cleaned_data),
        then=reverse("book:vehicle", args=[pk]),
        said="Corrected. What stood there before is in the history.",
        vehicle=known,
    )


def _wanted(request: HttpRequest) -> str:
    return (request.POST.get("q") or request.GET.get("q", ""))[: finding.MOST_TYPED].replace("\x00", "").strip()


@get_or_post
@for_roles(*DESK)
def vehicle_merger(request: HttpRequest, pk: int) -> HttpResponse:
    """The same vehicle written down twice: the other entry goes into this one. `?q=` looks for the other."""
    known, wanted = there(visits.vehicle(pk)), _wanted(request)
    actions.catch_up()
    others = [one.pk for one in finding.find(wanted).vehicles if one.pk != pk]
    rows = type(known).objects.filter(pk__in=others).order_by("-pk")
    form = forms.MergeForm(rows, lambda one: " · ".join(filter(None, [str(one), one.plate, one.vin])), request.POST or None)
    return sheet(
        request,
        "book/vehicle_merger.html",
        form,
        lambda: jobs.merge_vehicles(acting(request), known, form.cleaned_data["other"], form.cleaned_data["reason"]),
        then=reverse("book:vehicle", args=[pk]),
        said="Merged. Both are one vehicle now.",
        vehicle=known,
        wanted=wanted,
        others=others,
    )


@require_safe
@for_roles(*READERS)
def party(request: HttpRequest, pk: int) -> HttpResponse:
    """One customer: how to reach them, their vehicles, cards and papers."""
    known = there(visits.party(pk))
    if known.merged_into_id:
        return redirect("book:party", known.merged_into_id)
    context = {"party": known, "vehicles": visits.vehicles_of(known), "cards": visits.cards_of(known)}
    documents = visits.documents_of(customer_queries.entries(known))
    return render(request, "book/party.html", {**context, "documents": documents, "desk": role_of(request) in DESK})


@get_or_post
@for_roles(*DESK)
def party_details(request: HttpRequest, pk: int) -> HttpResponse:
    """What is written of a customer, to put it right. `?contact=` is the person to reach; the first one unless another is named."""
    known = there(visits.party(pk))
    chosen, people = request.POST.get("contact") or request.GET.get("contact", ""), sorted(known.contacts.all(), key=lambda one: one.pk)
    contact = next((one for one in people if str(one.pk) == chosen), people[0] if people else None)
    form = forms.PartyForm(request.POST or None, initial=forms.PartyForm.of(known, contact))
    return sheet(
        request,
        "book/party_details.html",
        form,
        lambda: customers.change_party(acting(request), known, contact, to_reach=form.to_reach(), **form.what()),
        then=reverse("book:party", args=[pk]),
        said="Corrected. What stood there before is in the history.",
        party=known,
        contact=contact,
        people=people,
    )


@get_or_post
@for_roles(*DESK)
def party_merger(request: HttpRequest, pk: int) -> HttpResponse:
    """The same customer written down twice: the other entry goes into this one. `?q=` looks for the other."""
    known, wanted = there(visits.party(pk)), _wanted(request)
    actions.catch_up()
    others = [one.pk for one in finding.find(wanted).parties if one.pk != pk]
    rows = type(known).objects.filter(pk__in=others).prefetch_related("contacts").order_by("-pk")
    form = forms.MergeForm(rows, _party_line, request.POST or None)
    return sheet(
        request,
        "book/party_merger.html",
        form,
        lambda: jobs.merge_parties(acting(request), known, form.cleaned_data["other"], form.cleaned_data["reason"]),
        then=reverse("book:party", args=[pk]),
        said="Merged. Both are one customer now.",
        party=known,
        wanted=wanted,
        others=others,
    )


def _party_line(party: Any) -> str:
    first = next(iter(party.contacts.all()), None)
    return " · ".join(filter(None, [party.name, party.address.replace("\n", ", "), first.phone if first else ""]))
