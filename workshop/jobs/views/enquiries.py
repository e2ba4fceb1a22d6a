"""The enquiry and the complaints."""

import uuid as uuids

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from workshop.customers import queries as customers
from workshop.customers.models import Party
from workshop.history.actions import acting
from workshop.jobs import actions, queries
from workshop.jobs.forms import ComplaintForm, EnquiryForm, FactsForm
from workshop.jobs.models import Complaint
from workshop.jobs.views.common import READERS, WRITERS, done, found_card
from workshop.pages.roles import for_roles, get_or_post, refuse
from workshop.vehicles import queries as vehicles


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
    came = dict(Complaint.Outcome.choices).get(chosen, "")
    said = f"Written down: “{complaint.words[:60]}” is {came}."
    return done(request, complaint.card_id, lambda: actions.set_outcome(acting(request), complaint, chosen), said)


@get_or_post
@for_roles(*READERS)
def facts(request: HttpRequest, pk: int) -> HttpResponse:
    """What was asked at the call, put right or learned later."""
    card = found_card(pk)
    form = FactsForm(card, request.POST or None)
    if request.method != "POST":
        return render(request, "jobs/facts.html", {"form": form, "card": card})
    if form.is_valid():
        try:
            changed = actions.change_facts(acting(request), card, **form.facts())
        except actions.Refused as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, "The facts of the card stand as you wrote them.")
            if set(changed.stop_signs.split(",")) - set(card.stop_signs.split(",")):
                messages.warning(request, "Tell the caller now: do not drive it, do not start it.")
            return redirect("jobs:card", pk)
    return refuse(request, "jobs/facts.html", {"form": form, "card": card})
