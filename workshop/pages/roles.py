"""Who may open which page. The names stand on the view, so that a test can read the whole table."""

from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from workshop.pages import errors
from workshop.staff.models import User

type View = Callable[..., HttpResponse]
get_or_post = require_http_methods(["GET", "HEAD", "POST"])  # a sheet that is shown and saved


def closed_to(request: HttpRequest, roles: tuple[str, ...]) -> HttpResponse:
    """The calm 403 page that says whose sheet it is."""
    whose = " and ".join(filter(None, [", ".join(roles[:-1]), roles[-1]]))
    return errors.answer(request, replace(errors.FORBIDDEN, what=f"This sheet is for {whose}. Nothing was changed."))


def for_roles(*roles: str) -> Callable[[View], View]:
    """Lets only these roles in. The view carries `roles`, a frozenset. ValueError for a role there is not."""
    if not roles or set(roles) - set(User.Role.values):
        raise ValueError(f"Roles are {User.Role.values}, not {roles}.")

    def mark(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if request.user.role not in roles:
                return closed_to(request, roles)
            return view(request, *args, **kwargs)

        guarded.roles = frozenset(roles)  # type: ignore[attr-defined]
        return guarded

    return mark


def refuse(request: HttpRequest, template: str, context: dict[str, Any]) -> HttpResponse:
    """The page again with status 422: a refused form, everything typed kept. htmx swaps it by itself."""
    return render(request, template, context, status=422)
