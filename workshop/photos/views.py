"""A picture's or a clip's bytes, for people of the business."""

import re
import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from workshop.files.queries import Missing, read
from workshop.pages.roles import for_roles
from workshop.photos import queries
from workshop.photos.models import Clip, Photo

SEERS = ("owner", "mechanic", "office")
KEPT = {
    "Cache-Control": "private, max-age=31536000, immutable",
    "Content-Security-Policy": "default-src 'none'; sandbox",
    "X-Content-Type-Options": "nosniff",
}
ENDINGS = {
    "video/mp4": "mp4",
    "video/quicktime": "mov",
    "video/webm": "webm",
    "video/x-matroska": "mkv",
    "audio/mp4": "m4a",
    "audio/webm": "weba",
    "audio/x-matroska": "mka",
    "audio/mpeg": "mp3",
    "audio/ogg": "ogg",
    "audio/wav": "wav",
}


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
        headers={**KEPT, "Content-Disposition": f'inline; filename="{uid}-{size}.jpg"'},
    )


PART = re.compile(r"bytes=(\d{1,12})-(\d{0,12})")


@require_safe
@for_roles(*SEERS)
def clip(request: HttpRequest, uid: uuid.UUID) -> HttpResponse:
    """The film or sound as it is kept, whole or the part that was asked for: some phones play only what comes in parts."""
    try:
        kept = queries.clip(uid)
        data = read(kept.blob_id)
    except (Clip.DoesNotExist, Missing) as error:
        raise Http404(f"There is no clip {uid}.") from error
    answer = HttpResponse(data, content_type=kept.media_type, headers={**KEPT, "Accept-Ranges": "bytes"})
    answer["Content-Disposition"] = f'inline; filename="{uid}.{ENDINGS[kept.media_type]}"'
    asked = PART.fullmatch(request.headers.get("Range", ""))
    if asked is None:
        return answer
    first, last = int(asked[1]), min(int(asked[2] or len(data)), len(data) - 1)
    if first > last:
        answer.status_code, answer.content = 416, b""
        answer["Content-Range"] = f"bytes */{len(data)}"
        return answer
    answer.status_code, answer.content = 206, data[first : last + 1]
    answer["Content-Range"] = f"bytes {first}-{last}/{len(data)}"  # RFC 9110, 14.4
    return answer
