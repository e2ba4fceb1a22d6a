"""What lies in the out-tray."""

import uuid

from django.db.models import QuerySet

from workshop.letters.models import Letter


def waiting() -> QuerySet[Letter]:
    """Letters that have not left, oldest first: never tried, or failed with the reason in `trouble`."""
    return Letter.objects.exclude(state=Letter.State.SENT).order_by("written_at", "pk")


def sent() -> QuerySet[Letter]:
    """Letters that went, newest first."""
    return Letter.objects.filter(state=Letter.State.SENT).order_by("-sent_at", "-pk")


def about(subject_uid: uuid.UUID) -> QuerySet[Letter]:
    """Letters about one thing, newest first."""
    return Letter.objects.filter(subject_uid=subject_uid).order_by("-written_at", "-pk")
