"""What templates know of the business without asking for it."""

from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from workshop.company import queries


def taxed(request: HttpRequest) -> dict[str, object]:
    """`taxed`: whether any word of tax may stand on a page. Asked of the database only by a template that uses it."""
    return {"taxed": SimpleLazyObject(queries.taxed)}
