"""letters:tray, letters:send, letters:send_waiting: what has not gone, and what went."""

import uuid

import pytest
from django.core import mail
from django.urls import reverse

from workshop import clock
from workshop.history.models import Event
from workshop.letters import actions
from workshop.letters.models import Letter

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company")]
TRAY, WAITING = reverse("letters:tray"), reverse("letters:send_waiting")


def letter(subject="Quote 26-0118 / 1", state="failed", **more):
    about = {"to": "osgood@plumtree.example", "body": f"Look: <<quotes:go_ahead {uuid.uuid4()}>>", "template": "quotes/mail/version.txt"}
    sent = {"sent_at": clock.now()} if state == "sent" else {}
    return Letter.objects.create(
        **{**about, "subject": subject, "subject_uid": uuid.uuid4(), "state": state, "written_at": clock.now(), **sent, **more}
    )


def at(which):
    return reverse("letters:send", args=[which.uid])


@pytest.fixture
def broken(monkeypatch):
    def fails(_self):
        raise OSError("mail server is asleep")

    monkeypatch.setattr("workshop.letters.actions.EmailMessage.send", fails)


def test_what_has_not_gone_stands_there_with_its_reason_and_no_address_of_a_link(as_office):
    letter(trouble="OSError: asleep", tries=2)
    letter("Gone", "sent")
    text = as_office.get(TRAY).content.decode()
    for words in ("Quote 26-0118 / 1", "OSError: asleep", "tried 2 times", "Send it again", "(the link)"):
        assert words in text
    assert "Gone" not in text
    assert "go_ahead " not in text
    went = as_office.get(TRAY, {"show": "sent"}).content.decode()
    assert "Gone" in went
    assert "Send" not in went.split("<main")[1].split("</main")[0].replace("Send-", "")


def test_an_empty_tray_says_so(as_owner):
    assert "Everything has gone." in as_owner.get(TRAY).content.decode()
    assert "No letter went yet." in as_owner.get(TRAY, {"show": "sent"}).content.decode()


def test_sent_again_it_goes_once_however_often_it_is_pressed(as_office):
    one = letter()
    for _ in range(3):
        assert as_office.post(at(one))["Location"] == TRAY
    one.refresh_from_db()
    assert (one.state, len(mail.outbox), Event.objects.filter(kind="letter.sent").count()) == ("sent", 1, 1)
    assert Event.objects.get(kind="letter.sent").actor.startswith("staff:")


def test_what_fails_again_stays_with_the_reason(as_office, broken):
    one = letter()
    assert "mail server is asleep" in as_office.post(at(one), follow=True).content.decode()
    one.refresh_from_db()
    assert (one.state, one.tries) == ("failed", 1)


def test_all_that_wait_go_the_oldest_first_and_not_too_many_at_once(as_office, monkeypatch):
    monkeypatch.setattr(actions.send_waiting, "__defaults__", (3,))
    for number in range(5):
        letter(f"letter {number}", "waiting")
    assert "3 of 3 went." in as_office.post(WAITING, follow=True).content.decode()
    assert [message.subject for message in mail.outbox] == ["letter 0", "letter 1", "letter 2"]
    as_office.post(WAITING)
    assert len(mail.outbox) == 5


@pytest.mark.parametrize(
    ("who", "reads", "sends"), [("as_owner", 200, 302), ("as_office", 200, 302), ("as_mechanic", 200, 403), ("as_bookkeeper", 403, 403)]
)
def test_who_may(who, reads, sends, request):
    client, one = request.getfixturevalue(who), letter()
    assert client.get(TRAY).status_code == reads
    assert [client.post(page).status_code for page in (at(one), WAITING)] == [sends, sends]


def test_an_unknown_letter_is_404_and_a_button_no_page(as_owner):
    assert as_owner.post(reverse("letters:send", args=[uuid.uuid4()])).status_code == 404
    assert [as_owner.get(page).status_code for page in (at(letter()), WAITING)] == [405, 405]


def test_the_number_of_queries_does_not_grow(as_office, django_assert_max_num_queries):
    for number in range(60):
        letter(f"letter {number}")
    with django_assert_max_num_queries(6):
        text = as_office.get(TRAY).content.decode()
    assert "page 1 of 2" in text
    assert "letter 59" in as_office.get(TRAY, {"page": 2}).content.decode()


def test_a_hostile_subject_is_only_words(as_office):
    letter("<script>alert(1)</script>", trouble="<b>no</b>")
    text = as_office.get(TRAY).content.decode()
    assert "<script>alert(1)" not in text
    assert "<b>no" not in text
