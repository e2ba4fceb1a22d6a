"""The one page that opens before anybody can sign in."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from workshop.company import actions, queries
from workshop.company.forms import FirstForm
from workshop.pages.roles import refuse


@login_not_required
@never_cache
@sensitive_post_parameters("password")
@require_http_methods(["GET", "HEAD", "POST"])
def first(request: HttpRequest, token: str = "") -> HttpResponse:
    """The business and its owner in an empty place, by the address from the console, once."""
    if queries.first_link(token) is None:
        return closed(request)
    form = FirstForm(request.POST if request.method == "POST" else None, profiles=queries.tax_profiles())
    if request.method != "POST":
        return render(request, "company/first.html", {"form": form})
    if form.is_valid():
        try:
            actions.begin(token, business=form.business(), owner=form.owner())
        except actions.Closed:
            return closed(request)
        except actions.Refused as refusal:
            form.add_error(refusal.box or None, str(refusal))
        else:
            messages.success(request, "The business is set up. Sign in, then set the hourly rates.")
            return redirect("account_login")
    return refuse(request, "company/first.html", {"form": form})


def closed(request: HttpRequest) -> HttpResponse:
    """The same calm page for no token, an unknown, a used and an old one."""
    return render(request, "company/first.html", {"set_up": queries.is_set_up()}, status=404)
