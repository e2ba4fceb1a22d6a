"""The page that takes a file of customers and vehicles in."""

from typing import Any, cast

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from workshop.history.actions import Actor
from workshop.pages.roles import for_roles, refuse
from workshop.staff.models import User
from workshop.vehicles import actions, queries
from workshop.vehicles.forms import COLUMNS, MOST_ROWS, FileForm, read_file

SHOWN = 5


@require_http_methods(["GET", "HEAD", "POST"])
@for_roles("owner")
def file(request: HttpRequest) -> HttpResponse:
    """Customers and vehicles from a file: looked through first, taken in with the second button, all of it or nothing."""
    context: dict[str, Any] = {"columns": COLUMNS.items(), "most": MOST_ROWS, "form": FileForm()}
    if request.method != "POST":
        return render(request, "vehicles/file.html", context)
    form = FileForm(request.POST, request.FILES)
    context["form"] = form
    if not form.is_valid():
        return refuse(request, "vehicles/file.html", context)
    rows, faults = read_file(form.cleaned_data["data"])
    faults = faults or queries.OnFile(rows).faults()
    if not faults and "take_in" in request.POST:
        done = actions.take_in(Actor.of(cast(User, request.user)), rows, form.cleaned_data["name"])
        if not (faults := list(done.faults)):
            messages.success(request, said(done))
            return redirect("vehicles:file")
    if faults:
        return refuse(request, "vehicles/file.html", {**context, "faults": faults})
    seen = {"rows": rows[:SHOWN], "many": len(rows), "vehicles": sum(bool(row.vehicle) for row in rows)}
    return render(request, "vehicles/file.html", {**context, **seen, "text": form.cleaned_data["data"].decode("utf-8-sig")})


def said(done: actions.TakenIn) -> str:
    """What was taken in, in words."""
    known = f" {done.known} rows were on file already." if done.known else ""
    return f"Taken in: {done.customers} customers and {done.vehicles} vehicles.{known}"
