"""What every sheet under /m/ carries for the phone."""

import uuid
from typing import Any

from django import template
from django.urls import reverse

from workshop import clock

register = template.Library()


@register.inclusion_tag("driveway/_phone.html", takes_context=True)
def phone(context: template.Context) -> dict[str, Any]:
    """Whose page this is and when it was made; under /m/ also the scripts of the outbox. Nothing on a page of a fault."""
    request = context.get("request")
    user = getattr(request, "user", None)
    if request is None or user is None or request.path == reverse("driveway:offline"):
        return {"known": False}
    outdoors = request.path.startswith(reverse("driveway:day"))
    name = str(user) if user.pk else ""
    return {"known": True, "owner": user.pk or "", "name": name, "made_at": clock.now(), "outdoors": outdoors, "path": request.path}


@register.simple_tag
def new_uid() -> str:
    """An id for a plain form, so that a double tap counts once."""
    return str(uuid.uuid4())
