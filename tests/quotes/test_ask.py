"""A question about a line (quotes:ask) and its reply (quotes:reply)."""

import uuid

import pytest
from django.urls import reverse

from tests.quotes.conftest import ADA
from tests.quotes.test_go_ahead import page_of, path_of, words_of
from workshop.history.models import Event
from workshop.quotes import actions
from workshop.quotes.models import Question, Version

pytestmark = pytest.mark.django_db
ASKED = {"ask": "2", "question2": "Can it wait until spring?", "line1": "accept", "name": "Osgood"}


def test_a_question_is_kept_and_the_choice_with_it(client, version):
    response = client.post(path_of(version, "ask"), ASKED)
    assert response.status_code == 200
    assert "Can it wait until spring?" in words_of(response)
    page = page_of(response)
    assert page.xpath("//input[@name='line1'][@checked]/@value") == ["accept"]
    assert page.xpath("//input[@name='name']/@value") == ["Osgood"]
    assert Version.objects.get().state == "open"
    assert Event.objects.filter(kind="quote.asked").count() == 1


def test_asked_twice_it_is_one_question(client, version):
    for _ in range(2):
        client.post(path_of(version, "ask"), ASKED)
    assert Question.objects.count() == Event.objects.filter(kind="quote.asked").count() == 1


@pytest.mark.parametrize(
    ("sent", "said"),
    [({"ask": "2", "question2": "  "}, "The box is empty."), ({"ask": "3", "question3": "?"}, "no such line"), ({}, "no such line")],
)
def test_what_is_no_question_is_refused(client, version, sent, said):
    response = client.post(path_of(version, "ask"), sent)
    assert response.status_code == 422
    assert said in words_of(response)
    assert "Nobody is named" not in words_of(response)
    assert "Choose Accept or Not now" not in words_of(response)
    assert not page_of(response).xpath("//input[@name='name'][@aria-invalid]")
    assert not Question.objects.exists()


def test_the_reply_stands_under_the_question(client, as_mechanic, version):
    client.post(path_of(version, "ask"), ASKED)
    question = Question.objects.get()
    response = as_mechanic.post(reverse("quotes:reply", args=[question.uid]), {"text": "Not beyond the first frost."})
    assert response.status_code == 302
    assert "Not beyond the first frost." in words_of(client.get(path_of(version)))
    assert Event.objects.filter(kind="quote.replied").count() == 1


def test_a_question_that_an_order_followed_is_still_answered(client, as_mechanic, as_office, version, card):
    client.post(path_of(version, "ask"), ASKED)
    answers = {1: "accept", 2: "not-now"}
    actions.answer(version, answers=answers, name="Osgood", standing="owner", request_uid=uuid.uuid4(), actor=ADA)
    desk = words_of(as_office.get("/"))
    assert "26-0118" in desk.split("Questions")[1]
    assert "Osgood Plumtree" in desk.split("Questions")[1]
    question = Question.objects.get()
    assert reverse("quotes:reply", args=[question.uid]) in as_mechanic.get(reverse("quotes:quote", args=[card.pk])).content.decode()
    receipt = words_of(client.get(path_of(version, "receipt")))
    assert "Can it wait until spring?" in receipt
    assert "We will answer here." in receipt
    as_mechanic.post(reverse("quotes:reply", args=[question.uid]), {"text": "Not beyond the first frost."})
    assert "Not beyond the first frost." in words_of(client.get(path_of(version, "receipt")))


def test_a_question_about_a_replaced_version_stands_on_the_newer_page_of_the_same_person(client, as_mechanic, version, card):
    client.post(path_of(version, "ask"), ASKED)
    newer = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])
    as_mechanic.post(reverse("quotes:reply", args=[Question.objects.get().uid]), {"text": "Not beyond the first frost."})
    assert "Not beyond the first frost." in words_of(client.get(path_of(newer)))
    other = actions.send_version(ADA, card, for_whom="Somebody else", numbers=[1, 2])
    assert "first frost" not in words_of(client.get(path_of(other)))


@pytest.mark.parametrize("hostile", ["a\x00b", "\ud800?", "\x1b[2J", "a\u202eb"])
def test_signs_that_no_database_keeps_are_refused_and_what_was_typed_stays(client, as_mechanic, version, hostile):
    """A lone half of a pair comes only from within: a browser's bytes are read as a replacement sign."""
    with pytest.raises(actions.Refused, match="no paper can print"):
        actions.ask(ADA, version, number=2, text=hostile)
    question = actions.ask(ADA, version, number=2, text="Can it wait?")
    with pytest.raises(actions.Refused, match="no paper can print"):
        actions.reply(ADA, question, hostile)
    if hostile.isprintable() or "\ud800" in hostile:
        return
    typed = f"Well {hostile}"
    response = client.post(path_of(version, "ask"), {"ask": "2", "question2": typed})
    assert response.status_code == 422
    assert "no paper can print" in words_of(response)
    response = as_mechanic.post(reverse("quotes:reply", args=[question.uid]), {"text": typed})
    assert response.status_code == 422
    assert "Well" in page_of(response).xpath("string(//textarea[@name='text'])")
    assert Question.objects.get().reply == ""
