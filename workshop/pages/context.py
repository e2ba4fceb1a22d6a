"""What every template knows: the name of the page and the light it is read in."""

from django.http import HttpRequest

LIGHTS = ("phone", "day", "night")
LIGHT_COOKIE = "light"


def light_of(request: HttpRequest) -> str:
    """phone (as the phone does), day or night: what the person chose, kept in a cookie."""
    chosen = request.COOKIES.get(LIGHT_COOKIE, "")
    return chosen if chosen in LIGHTS else "phone"


def page(request: HttpRequest) -> dict[str, str]:
    """`page` is the URL name ("jobs:card"), `theme` the light. A request that met no URL is `pages:fault`."""
    match = getattr(request, "resolver_match", None)
    return {"page": match.view_name if match else "pages:fault", "theme": light_of(request)}
