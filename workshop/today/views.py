"""The office's first page."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from workshop.pages.roles import for_roles
from workshop.staff.models import User
from workshop.today import queries

FIRST_PAGE = {User.Role.MECHANIC: "driveway:day", User.Role.BOOKKEEPER: "bookkeeping:batches"}


@require_safe
@for_roles(*User.Role.values)
def desk(request: HttpRequest) -> HttpResponse:
    """What waits. A mechanic begins at the run sheet, a bookkeeper at the books."""
    if (page := FIRST_PAGE.get(request.user.role)) and "desk" not in request.GET:  # type: ignore[union-attr, arg-type]
        return redirect(page)
    return render(request, "today/desk.html", {"desk": queries.desk()})
