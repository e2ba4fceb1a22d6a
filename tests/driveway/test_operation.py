"""driveway:operation, the door through which a phone sends."""

import hashlib
import http.client
import json
import threading
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from tests.browser import home as homes_of_journeys
from tests.browser import stock
from workshop.history.models import Event
from workshop.jobs.models import Card, Note
from workshop.outbox.models import Receipt

Put = Callable[..., HttpResponse]
UID = "7b1d2f9e-0c3a-4a51-9d0e-5f2f6a1c0001"
WORDS = "Belt tensioner rattles at idle, quiet at 1,500."


def counts() -> tuple[int, int, int]:
    """Notes, receipts, lines of history about notes."""
    return Note.objects.count(), Receipt.objects.count(), Event.objects.filter(kind="jobs.noted").count()


def test_a_note_arrives_with_its_receipt(put: Put, as_mechanic: Client, entry: dict[str, Any]) -> None:
    body = json.dumps(entry).encode()
    answer = put(as_mechanic, body)
    receipt = answer.json()
    assert answer.status_code == 201
    assert receipt["id"] == UID
    assert receipt["body_sha"] == hashlib.sha256(body).hexdigest()
    assert receipt["result"] == {"note": UID, "card": entry["card"], "late": False}
    note = Note.objects.get()
    assert (str(note.uid), note.card_id, note.words, note.by) == (UID, entry["card"], WORDS, "Pip Tansley-Vole")
    assert note.written_at.isoformat() == "2026-11-25T10:31:00+00:00"
    assert counts() == (1, 1, 1)


def test_a_repeat_gets_the_same_receipt_and_writes_nothing(put: Put, as_mechanic: Client, entry: dict[str, Any]) -> None:
    first = put(as_mechanic, entry)
    Card.objects.update(state="closed")  # a repeat is answered before any look at the card
    again = put(as_mechanic, entry)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert counts() == (1, 1, 1)


def test_the_same_id_for_another_body_is_refused(put: Put, as_mechanic: Client, entry: dict[str, Any]) -> None:
    put(as_mechanic, entry)
    answer = put(as_mechanic, {**entry, "data": {"words": "Something else."}})
    assert answer.status_code == 409
    assert answer.json().keys() == {"sentence"}
    assert counts() == (1, 1, 1)
    assert Note.objects.get().words == WORDS


def test_the_same_id_from_another_person_is_refused(put: Put, as_mechanic: Client, as_owner: Client, entry: dict[str, Any]) -> None:
    put(as_mechanic, entry)
    assert put(as_owner, entry).status_code == 409
    assert counts() == (1, 1, 1)


def test_a_closed_card_takes_a_late_entry_and_flags_it(put: Put, as_mechanic: Client, entry: dict[str, Any]) -> None:
    Card.objects.update(state="closed")
    answer = put(as_mechanic, entry)
    assert (answer.status_code, answer.json()["result"]["late"]) == (201, True)
    assert counts() == (1, 1, 1)


def test_a_card_may_be_named_by_its_own_id(put: Put, as_mechanic: Client, entry: dict[str, Any], card: Card) -> None:
    assert put(as_mechanic, {**entry, "card": str(card.uid)}).status_code == 201
    assert Note.objects.get().card_id == card.pk


def test_an_unknown_card_is_said_and_nothing_is_written(put: Put, as_mechanic: Client, entry: dict[str, Any]) -> None:
    answer = put(as_mechanic, {**entry, "card": 987654321})
    assert (answer.status_code, answer.json()) == (404, {"sentence": "The office has no such card."})
    assert counts() == (0, 0, 0)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"kind": "price"}, "The office does not know the kind of entry 'price'."),
        ({"kind": ["note"]}, "The office does not know the kind of entry ['note']."),
        ({"data": None}, "The entry has no data."),
        ({"card": None}, "The entry names no card."),
        ({"card": True}, "The entry names no card."),
        ({"at": "yesterday"}, "The entry does not say when it was written, with its time zone."),
        ({"at": "2026-11-25T10:31:00"}, "The entry does not say when it was written, with its time zone."),
        ({"at": "2026-13-45T10:31:00Z"}, "The entry does not say when it was written, with its time zone."),
        ({"data": {"words": "  "}}, "A note is 1 to 10,000 characters."),
        ({"data": {"words": 7}}, "A note is 1 to 10,000 characters."),
    ],
)
def test_nonsense_is_refused_in_a_sentence(
    put: Put, as_mechanic: Client, entry: dict[str, Any], change: dict[str, Any], sentence: str
) -> None:
    answer = put(as_mechanic, {**entry, **change})
    assert (answer.status_code, answer.json()) == (400, {"sentence": sentence})
    assert counts() == (0, 0, 0)


@pytest.mark.parametrize("body", [b"", b"not json", b"\xff\xfe", b"[]", b"null", b"7"])
def test_what_is_not_an_entry_is_refused(put: Put, as_mechanic: Client, card: Card, body: bytes) -> None:
    assert put(as_mechanic, body).status_code == 400
    assert counts() == (0, 0, 0)


def test_more_than_32_kb_is_refused(put: Put, as_mechanic: Client, entry: dict[str, Any]) -> None:
    answer = put(as_mechanic, {**entry, "data": {"words": "x" * 33_000}})
    assert (answer.status_code, answer.json()) == (413, {"sentence": "The entry is larger than 32 kB."})


def test_who_may_send(put: Put, client: Client, as_office: Client, entry: dict[str, Any]) -> None:
    """The door for strangers, the calm page for the office; driveway:operation writes for owner and mechanic only."""
    assert put(client, entry).status_code == 302
    assert put(as_office, entry).status_code == 403
    assert counts() == (0, 0, 0)


def test_a_wrong_token_is_refused(mechanic: Any, put: Put, entry: dict[str, Any]) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(mechanic)
    assert put(strict, entry).status_code == 403
    assert counts() == (0, 0, 0)


@pytest.mark.both_databases
def test_twenty_at_once_count_once(tmp_path: Path) -> None:
    """Real server, real threads: one 201, nineteen 200, one row of each."""
    with homes_of_journeys.filled(tmp_path / "template") as template, homes_of_journeys.copied(template, tmp_path / "home") as home:
        home.start()
        cookies, csrf, card = session_of(home)
        body = json.dumps({"kind": "note", "card": card, "data": {"words": WORDS}, "at": "2026-11-25T10:31:00Z"})
        answers: list[tuple[int, str]] = []
        together = threading.Barrier(20)

        def send() -> None:
            door = http.client.HTTPConnection("127.0.0.1", home.port, timeout=60)
            together.wait()
            door.request("PUT", f"/m/sync/op/{UID}/", body, {"Cookie": cookies, "X-CSRFToken": csrf, "Content-Type": "application/json"})
            answer = door.getresponse()
            answers.append((answer.status, answer.read().decode()))

        senders = [threading.Thread(target=send) for _ in range(20)]
        [sender.start() for sender in senders]
        [sender.join() for sender in senders]
        assert Counter(status for status, _ in answers) == {201: 1, 200: 19}, answers
        assert len({text for _, text in answers}) == 1
        assert [len(home.rows(model, "pk")) for model in ("jobs.Note", "outbox.Receipt")] == [1, 1]
        assert len(home.rows("history.Event", "pk", kind="jobs.noted")) == 1


def session_of(home: homes_of_journeys.Home) -> tuple[str, str, int]:
    """Cookies and token of the mechanic, signed in by the form, and the number of the only card."""
    jar: dict[str, str] = {}
    door = http.client.HTTPConnection("127.0.0.1", home.port, timeout=20)

    def ask(method: str, path: str, body: str = "") -> str:
        headers = {"Cookie": "; ".join(f"{k}={v}" for k, v in jar.items()), "Content-Type": "application/x-www-form-urlencoded"}
        door.request(method, path, body, headers)
        answer = door.getresponse()
        for name, value in answer.getheaders():
            if name.lower() == "set-cookie":
                key, _, rest = value.partition("=")
                jar[key] = rest.partition(";")[0]
        return answer.read().decode()

    ask("GET", "/accounts/login/")
    password = stock.PASSWORD.replace(" ", "+")
    ask("POST", "/accounts/login/", f"login=pip&password={password}&csrfmiddlewaretoken={jar['csrftoken']}")
    csrf = json.loads(ask("GET", "/m/session/"))["csrf"]
    return "; ".join(f"{k}={v}" for k, v in jar.items()), csrf, home.rows("jobs.Card", "pk")[0]["pk"]
