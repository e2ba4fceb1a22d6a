"""The sheet of one photo of a finding: the ring on it and what it stands for; more photos of a finding."""

import uuid as uuids
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from workshop.history.actions import acting
from workshop.inspections import actions, queries
from workshop.inspections.forms import NINTHS, WIDTHS, RoleForm, height_of, tapped
from workshop.inspections.models import FindingPhoto
from workshop.inspections.views.common import WRITERS, found_finding, sent_pictures
from workshop.inspections.views.findings import finding_sheet
from workshop.jobs.actions import Refused
from workshop.pages.roles import for_roles, get_or_post
from workshop.photos import actions as photos


def found_photo(uid: uuids.UUID, photo: uuids.UUID) -> FindingPhoto:
    """The photo on its finding or a calm 404."""
    shown = queries.photo_of(uid, photo)
    if shown is None:
        raise Http404
    return shown


@get_or_post
@for_roles(*WRITERS)
def photo_mark(request: HttpRequest, uid: uuids.UUID, photo: uuids.UUID) -> HttpResponse:
    """A ring where the finger was. Tapped again it moves; a button takes it off."""
    shown = found_photo(uid, photo)
    if request.method != "POST":
        return photo_sheet(request, shown)
    try:
        actions.mark_photo(acting(request), shown, tapped(request.POST, shown))
    except ValueError as refused:
        return photo_sheet(request, shown, status=422, refused=str(refused))
    return redirect("inspections:photo_mark", uid, photo)


def photo_sheet(
    request: HttpRequest, shown: FindingPhoto, form: RoleForm | None = None, status: int = 200, refused: str = ""
) -> HttpResponse:
    """The photo as a button of each width, the nine places, and what it stands for."""
    widths = [(width, height_of(shown, width)) for width in WIDTHS]
    context: dict[str, Any] = {"shown": shown, "finding": shown.finding, "widths": widths, "ninths": NINTHS, "refused": refused}
    form = form or RoleForm(initial={"role": shown.role or "none"})
    return render(request, "inspections/photo_mark.html", {**context, "form": form}, status=status)


@require_POST
@for_roles(*WRITERS)
def photo_role(request: HttpRequest, uid: uuids.UUID, photo: uuids.UUID) -> HttpResponse:
    """Says what the photo stands for in a comparison."""
    shown, form = found_photo(uid, photo), RoleForm(request.POST)
    if not form.is_valid():
        return photo_sheet(request, shown, form, 422)
    try:
        actions.name_photo(acting(request), shown, form.cleaned_data["role"])
    except Refused as refused:
        return photo_sheet(request, shown, form, 409, str(refused))
    return redirect("inspections:finding", uid)


@require_POST
@for_roles(*WRITERS)
def photo_new(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """More photos of a finding: after the work, as it should be. Pictures that were taken stay when something is refused."""
    finding, form = found_finding(uid), RoleForm(request.POST)
    kept, wrong = sent_pictures(request)
    again: dict[str, Any] = {"role_form": form, "kept": kept, "photo_errors": wrong}
    if wrong or not form.is_valid():
        return finding_sheet(request, finding, status=422, **again)
    try:
        added = actions.add_photos(acting(request), finding, kept, form.cleaned_data["role"])
    except Refused as refused:
        return finding_sheet(request, finding, status=422, refused=str(refused), **again)
    messages.success(request, f"{len(added)} more photo{'s' if len(added) != 1 else ''} on this finding.")
    return redirect("inspections:finding", uid)


@require_POST
@for_roles(*WRITERS)
def clip_new(request: HttpRequest, uid: uuids.UUID) -> HttpResponse:
    """A short film or sound of a finding."""
    finding = found_finding(uid)
    files = [file for name in ("film", "sound") for file in request.FILES.getlist(name)]
    if not files:
        return finding_sheet(request, finding, status=422, clip_errors=["No clip came. Record one, or choose it from the phone."])
    most = actions.MOST_CLIPS
    wrong = [f"{len(files)} clips at once. A finding has at most {most}: the first {most} were looked at."] if len(files) > most else []
    for file in files[:most]:
        try:
            actions.add_clip(acting(request), finding, photos.read_clip(file.read(photos.MOST_BYTES + 1)))
        except photos.Refused as refused:
            wrong.append(f"{str(file.name)[:60]}: {refused.sentence}")
        except Refused as refused:
            wrong.append(str(refused))
    if wrong:
        return finding_sheet(request, found_finding(uid), status=422, clip_errors=wrong)
    messages.success(request, "The clip is safe on the server.")
    return redirect("inspections:finding", uid)
