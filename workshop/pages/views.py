"""The light, robots.txt, and the bare page of a fault."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST, require_safe

from workshop.pages import errors
from workshop.pages.context import LIGHT_COOKIE, LIGHTS

A_YEAR = 60 * 60 * 24 * 365
ROBOTS = "User-agent: *\nDisallow: /q/\nDisallow: /i/\nDisallow: /first/\nDisallow: /calendar/\n"


@login_not_required
@require_POST
def light(request: HttpRequest) -> HttpResponse:
    """Keeps day, night or phone in a cookie and goes back to the page it came from. An unknown light means phone."""
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    response = HttpResponseRedirect(back if safe else "/")
    chosen = request.POST.get("light", "")
    response.set_cookie(
        LIGHT_COOKIE, chosen if chosen in LIGHTS else "phone", max_age=A_YEAR, samesite="Lax", httponly=True, secure=request.is_secure()
    )
    return response


@login_not_required
@require_safe
def robots(request: HttpRequest) -> HttpResponse:
    """Asks search engines to leave pages by link alone; the pages themselves say so too."""
    return HttpResponse(ROBOTS, content_type="text/plain; charset=utf-8")


@login_not_required
@require_safe
def fault(request: HttpRequest) -> HttpResponse:
    """The page of a fault as a page, for whoever keeps a copy of it: a proxy, the phone."""
    response = errors.answer(request, errors.OUT_OF_REACH, calm=False)
    response.status_code = 200
    return response
