"""A letter is a row first; what the mail server does cannot lose it."""

import uuid
from smtplib import SMTPServerDisconnected

import pytest
from django.db import transaction

from workshop import clock
from workshop.history.actions import Actor
from workshop.history.models import Event
from workshop.letters import actions, queries
from workshop.letters.models import Letter
from workshop.links import actions as links
from workshop.links.queries import address

pytestmark = pytest.mark.django_db
PAGE = {
    "business": {"name": "Quillfeather", "address": "", "phone": "1"},
    "vehicle": {"make": "Ostrel", "model": "Wander"},
    "for_whom": "O",
}


def write(subject="A quote", where=""):
    context = {"page": PAGE, "version": {"expires_at": clock.now()}, "address": where}
    return actions.write_letter("osgood@plumtree.example", subject, "quotes/mail/version.txt", context, uuid.uuid4())


def broken(*_args, **_more):
    raise SMTPServerDisconnected("Connection unexpectedly closed")


def test_it_leaves_when_the_caller_has_committed(django_capture_on_commit_callbacks, mailoutbox):
    with django_capture_on_commit_callbacks(execute=True):
        letter = write()
        assert (letter.state, mailoutbox) == ("waiting", [])
    letter.refresh_from_db()
    assert (letter.state, letter.tries) == ("sent", 1)
    assert mailoutbox[0].to == ["osgood@plumtree.example"]
    assert Event.objects.get().kind == "letter.sent"


def test_rolled_back_there_is_no_letter(mailoutbox):
    with pytest.raises(RuntimeError), transaction.atomic():
        write()
        raise RuntimeError
    assert (Letter.objects.count(), mailoutbox) == (0, [])


def test_a_broken_mail_server_loses_nothing_and_raises_nothing(monkeypatch, django_capture_on_commit_callbacks):
    monkeypatch.setattr("workshop.letters.actions.EmailMessage.send", broken)
    with django_capture_on_commit_callbacks(execute=True):
        letter = write()
    letter.refresh_from_db()
    assert (letter.state, letter.trouble) == ("failed", "SMTPServerDisconnected: Connection unexpectedly closed")
    assert list(queries.waiting()) == [letter]
    assert Event.objects.get().kind == "letter.failed"


def test_a_failed_one_can_be_sent_again_and_a_sent_one_is_not(monkeypatch, mailoutbox):
    letter = write()
    with monkeypatch.context() as trouble:
        trouble.setattr("workshop.letters.actions.EmailMessage.send", broken)
        actions.send(None, letter)
    for _ in range(2):
        actions.send(Actor.system("test"), Letter.objects.get())
    assert (Letter.objects.get().state, Letter.objects.get().tries, len(mailoutbox)) == ("sent", 2, 1)
    assert list(queries.waiting()) == []


def test_of_two_who_send_at_once_one_does(mailoutbox):
    write()
    first, second = Letter.objects.get(), Letter.objects.get()
    actions.send(None, first)
    actions.send(None, second)
    assert len(mailoutbox) == 1


def test_the_address_is_put_in_when_it_leaves(mailoutbox):
    link = links.make("quote", uuid.uuid4(), "Osgood", clock.now())
    letter = write(where=actions.address_mark(link, "quotes:go_ahead"))
    assert "/q/" not in letter.body
    actions.send(None, letter)
    assert address(link, "quotes:go_ahead") in mailoutbox[0].body


def test_a_mark_of_no_link_stays_text(mailoutbox):
    mark = f"<<quotes:go_ahead {uuid.uuid4()}>>"
    actions.send(None, write(where=mark))
    assert mark in mailoutbox[0].body


def test_a_subject_is_one_line(mailoutbox):
    actions.send(None, write(subject="A quote\nBcc: somebody@else.example"))
    assert mailoutbox[0].subject == "A quote Bcc: somebody@else.example"
