"""A picture's bytes, for people of the business."""

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from workshop.files.queries import Missing
from workshop.pages.roles import for_roles
from workshop.photos import queries
from workshop.photos.models import Photo

SEERS = ("owner", "mechanic", "office")


@require_safe
@for_roles(*SEERS)
def picture(request: HttpRequest, uid: uuid.UUID, size: str) -> HttpResponse:
    """The JPEG. Its bytes never change, so the browser may keep them for good; nobody between may."""
    try:
        data = queries.bytes_of(queries.photo(uid), size)
    except (Photo.DoesNotExist, Missing, LookupError) as error:
        raise Http404(f"There is no picture {uid} in {size}.") from error
    return HttpResponse(
        data,
        content_type="image/jpeg",
        headers={
            "Cache-Control": "private, max-age=31536000, immutable",
            "Content-Disposition": f'inline; filename="{uid}-{size}.jpg"',
            "Content-Security-Policy": "default-src 'none'; sandbox",
            "X-Content-Type-Options": "nosniff",
        },
    )
