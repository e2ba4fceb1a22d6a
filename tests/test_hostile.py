"""Every form of every page, filled with what nobody should type: never a fault, never a tag that lives, nothing lost or half saved.

The forms are read from the pages themselves, so a new box is in it the day it is made."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import quote_from_bytes

import pytest
from django.db import connection, transaction
from django.test import Client, TestCase

from tests.test_house import NAMES, only_post
from tests.test_powers import VIEWS, about, records, things
from workshop.staff.models import User

TAG = "<script>alert(1)</script>"
TYPED = {
    "tag": TAG,
    "formula": '=HYPERLINK("http://x.example","pay")',
    "long": "x" * 10_000,
    "nul": "a\x00b",
    "surrogate": "a\ud800b",
    "backwards": "\u202egpj.exe\u2028",
    "below": "-1",
    "vast": "9" * 40,
    "no number": "NaN",
    "infinite": "Infinity",
    "tiny": "1e-400",
    "no day": "0203-02-30T25:61",
    "empty": "",
}
ON_POSTGRESQL = {"nul", "surrogate", "long", "vast", "infinite"}  # what a database minds
CHECKED = {"long", "no day"}  # records are compared for these alone, for time
TEXTS = {"text", "search", "tel", "email", "number", "date", "datetime-local", "time", "url", "password"}


@dataclass
class Form:
    """A form of a page: where it goes and what it would send."""

    action: str
    method: str
    fixed: list[tuple[str, str]] = field(default_factory=list)
    typed: list[str] = field(default_factory=list)
    radios: dict[str, str] = field(default_factory=dict)


class Forms(HTMLParser):
    """Collects the forms of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.page, self.found, self.select = page, [], ""
        self.feed_of: Form | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.feed_of = Form(told.get("action") or self.page, told.get("method", "get").lower())
            self.found.append(self.feed_of)
        elif self.feed_of:
            self._box(tag, told, self.feed_of)

    def _box(self, tag: str, told: dict[str, str], form: Form) -> None:
        name, kind = told.get("name", ""), told.get("type", "text")
        if tag == "option" and self.select and self.select not in form.radios and told.get("value"):
            form.radios[self.select] = told["value"]
        elif not name:
            return
        elif tag == "select":
            self.select = name
        elif tag == "textarea" or (tag == "input" and kind in TEXTS):
            form.typed.append(name)
        elif tag == "input" and kind in {"radio", "checkbox"}:
            form.radios.setdefault(name, told.get("value", "on"))
        elif tag in {"input", "button"} and kind not in {"file", "image"}:
            form.fixed.append((name, told.get("value", "")))

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.feed_of = None
        elif tag == "select":
            self.select = ""


def forms(client: Client, where: str) -> list[Form]:
    """The forms that a page shows."""
    answer = client.get(where)
    if answer.status_code != 200 or "html" not in answer.headers.get("Content-Type", ""):
        return []
    reader = Forms(where)
    reader.feed(answer.content.decode())
    return [form for form in reader.found if form.method == "post"]


def body(form: Form, typed: str) -> bytes:
    """As a browser would send it; a lone surrogate as the bytes that no browser sends."""
    pairs = [*form.fixed, *form.radios.items(), *((name, typed) for name in form.typed)]
    return b"&".join(
        f"{quote_from_bytes(name.encode())}={quote_from_bytes(value.encode('utf-8', 'surrogatepass'))}".encode() for name, value in pairs
    )


def pressed(client: Client, form: Form, typed: str) -> tuple[int, str]:
    """What the page answers, and its text."""
    answer = client.post(form.action, body(form, typed), content_type="application/x-www-form-urlencoded")
    return answer.status_code, answer.content.decode(errors="replace") if "html" in answer.headers.get("Content-Type", "") else ""


PAGES_SEEN = [name for name in NAMES if not only_post(VIEWS[name]) and not name.startswith("pages:")]


@pytest.mark.slow
def test_every_form_of_every_page(company: object, owner: User, as_owner: Client) -> None:
    with TestCase.captureOnCommitCallbacks(execute=True):
        ids = things(owner)
    before, wrong = records(), []
    found = [(name, form) for name in PAGES_SEEN for form in forms(as_owner, about(name, ids))]
    mind = set(TYPED) if connection.vendor == "sqlite" else ON_POSTGRESQL
    for name, form in found:
        for what in mind:
            typed = TYPED[what]
            with transaction.atomic():
                status, text = pressed(as_owner, form, typed)
                if status >= 500 or status == 404 or TAG in text:
                    wrong.append(f"{name} to {form.action}, {what}: {status}{', a living tag' if TAG in text else ''}")
                if status == 422 and what in CHECKED and records() != before:
                    wrong.append(f"{name} to {form.action}, {what}: refused, and yet something was saved")
                transaction.set_rollback(True)
    assert wrong == [], "\n".join(wrong)
    assert len(found) > 40


@pytest.mark.slow
@pytest.mark.sqlite_only  # templates escape alike on both
def test_what_was_saved_is_shown_as_words(company: object, owner: User, as_owner: Client) -> None:
    """The tag is saved wherever a box takes it, and then every page is opened."""
    with TestCase.captureOnCommitCallbacks(execute=True):
        ids = things(owner)
        for name in PAGES_SEEN:
            for form in forms(as_owner, about(name, ids)):
                pressed(as_owner, form, TAG)
    living = [name for name in PAGES_SEEN if TAG in b"".join(as_owner.get(about(name, ids))).decode(errors="replace")]
    assert living == []
