"""What the tests of the owner's sheets share: the form as the page shows it, sent with changes."""

from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from lxml import html

from workshop.history.models import Event

HOSTILE = "<script>alert(1)</script>"
SHEETS = '=HYPERLINK("https://x.example","look")'
OTHERS = ["as_mechanic", "as_office", "as_bookkeeper"]


def form_of(client: Client, address: str) -> dict[str, Any]:
    """Every box of the page's form as it stands, its hidden ones too."""
    page = html.fromstring(client.get(address).content.decode())
    form = next(form for form in page.xpath("//form[@method='post']") if form.get("class") != "light")
    return {name: value for name, value in form.form_values() if name not in {"work_out", "csrfmiddlewaretoken"}}


def send(client: Client, address: str, /, **typed: Any) -> Any:
    """The form as it stands with some boxes typed anew; None takes a box away."""
    return client.post(address, {name: value for name, value in {**form_of(client, address), **typed}.items() if value is not None})


def text(answer: Any) -> str:
    """What a person reads on the page, boxes included."""
    page = html.fromstring(answer.content.decode())
    typed = [box.value or "" for box in page.xpath("//input[not(@type='hidden')] | //textarea")]
    return " ".join(" ".join([page.text_content(), *typed]).split())


def told() -> int:
    """How many lines history has."""
    return Event.objects.count()


def lines(after: int) -> list[str]:
    """The kinds that history tells after its first so many lines."""
    return list(Event.objects.filter(seq__gt=after).values_list("kind", flat=True))


def asked(client: Client, address: str) -> int:
    """How many questions a page puts to the database."""
    with CaptureQueriesContext(
        connection,
    ) as captured:
        assert client.get(address).status_code == 200
    return len(captured)
