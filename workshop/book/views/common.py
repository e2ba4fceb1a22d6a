"""What the sheets of this room share."""

from collections.abc import Callable
from typing import Any, cast

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from workshop.pages.roles import refuse
from workshop.staff.models import User

READERS = ("owner", "mechanic", "office")
WRITERS = ("owner", "mechanic")
DESK = ("owner", "office")


def role_of(request: HttpRequest) -> str:
    """The role of whoever looks."""
    return str(cast(User, request.user).role)


def there[T](thing: T | None) -> T:
    """The thing, or a calm 404."""
    if thing is None:
        raise Http404
    return thing


def sheet(
    request: HttpRequest, template: str, form: forms.Form, verb: Callable[[], object], *, then: str, said: str, **context: Any
) -> HttpResponse:
    """A sheet with one form: shown, refused with what was typed, or done. What the verb refuses stands on top of the form."""
    context["form"] = form
    if request.method != "POST":
        return render(request, template, context)
    if form.is_valid():
        try:
            verb()
        except ValueError as refused:
            form.add_error(None, str(refused))
        else:
            messages.success(request, said)
            return redirect(then)
    return refuse(request, template, context)
