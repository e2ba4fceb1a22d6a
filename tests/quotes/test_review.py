"""Everything once more (quotes:review), then the order (quotes:order)."""

import json
import uuid

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from tests.quotes.conftest import ADA, in_hours
from tests.quotes.test_go_ahead import everything_kept, page_of, path_of, words_of
from workshop import clock
from workshop.history.models import Event
from workshop.quotes import actions
from workshop.quotes.models import Answer, GoAhead

pytestmark = pytest.mark.django_db
WHOLE = {"line1": "accept", "line2": "not-now", "name": "Osgood Plumtree", "standing": "owner"}


def hidden(response):
    return {box.get("name"): box.get("value") for box in page_of(response).xpath("//input[@type='hidden']")}


def reviewed(client, version, **changes):
    return client.post(path_of(version, "review"), {**WHOLE, **changes})


def ordered(client, version, **changes):
    return client.post(path_of(version, "order"), {**hidden(reviewed(client, version)), **changes})


def test_review_shows_everything_once_more_and_stores_nothing(client, version):
    before = everything_kept()
    response = reviewed(client, version)
    words = words_of(response)
    assert "Order this work, pay 659.53" in words
    assert "Osgood Plumtree" in words
    assert "With this choice line 1 is ordered. Line 2 is not done now." in words
    assert hidden(response).items() >= WHOLE.items()
    assert everything_kept() == before


def test_no_answer_is_not_an_order(client, version):
    before = everything_kept()
    response = client.post(path_of(version, "review"), {"line1": "accept", "name": "Osgood"})
    assert response.status_code == 422
    page = page_of(response)
    assert page.xpath("string(//*[@id='id_line2_error'])") == "No answer yet. Choose Accept or Not now."
    assert page.xpath("//*[@id='id_standing_error']")
    assert not page.xpath("//*[@id='id_line1_error']")
    assert page.xpath("//input[@name='line1'][@checked]/@value") == ["accept"]
    assert page.xpath("//input[@name='name']/@value") == ["Osgood"]
    assert page.xpath("string(//*[@id='sum'])") == "659.53"
    assert everything_kept() == before


def test_a_line_of_another_quote_is_refused(client, version):
    response = client.post(path_of(version, "review"), {**WHOLE, "line3": "accept"})
    assert response.status_code == 422
    assert "This quote has no line 3. Nothing was ordered." in words_of(response)
    assert ordered(client, version, line3="accept").status_code == 422
    assert not GoAhead.objects.exists()


def test_an_order_is_kept_with_all_that_proves_it(client, version, card):
    response = ordered(client, version)
    assert response.status_code == 302
    assert response["Location"] == path_of(version, "receipt")
    given = GoAhead.objects.get()
    assert (given.by, given.standing, given.channel) == ("Osgood Plumtree", "owner", "link")
    assert (given.set_before, given.set_after, str(given.total_after_gross)) == ([], [1], "659.53")
    assert given.address == "127.0.0.1"
    assert given.paper.media_type == "application/pdf"
    assert dict(card.lines.values_list("number", "answer")) == {1: "accepted", 2: "not_now", 3: "draft", 4: "draft"}
    event = Event.objects.get(kind="quote.answered")
    assert event.actor.startswith("link:")
    assert json.loads(event.payload)["total"] == "659.53"


def test_pressed_twice_it_is_one_order(client, version):
    sent = hidden(reviewed(client, version))
    answers = [client.post(path_of(version, "order"), sent) for _ in range(3)]
    assert {answer["Location"] for answer in answers} == {path_of(version, "receipt")}
    assert GoAhead.objects.count() == 1
    assert Event.objects.filter(kind="quote.answered").count() == 1
    assert "answered before" not in words_of(client.get(path_of(version, "receipt")))


def test_from_a_second_telephone_the_first_answer_is_shown(client, version):
    first, second = hidden(reviewed(client, version)), hidden(reviewed(client, version, line2="accept", name="The daughter"))
    client.post(path_of(version, "order"), first)
    response = client.post(path_of(version, "order"), second, follow=True)
    assert "This quote was answered before. What you just sent changed nothing." in words_of(response)
    assert "Osgood Plumtree, the owner" in words_of(response)
    assert GoAhead.objects.count() == 1


def test_a_total_that_was_tampered_with_is_shown_again(client, version):
    response = ordered(client, version, total="1.00")
    assert response.status_code == 422
    assert "does not fit what was shown" in words_of(response)
    assert not GoAhead.objects.exists()


def test_replaced_meanwhile_it_is_refused_with_the_newer_one_named(client, version, card):
    sent = hidden(reviewed(client, version, line2="accept"))
    part = card.lines.get(number=2).parts.get()
    part.amount += 12
    part.save()
    newer = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])
    response = client.post(path_of(version, "order"), sent)
    assert response.status_code == 409
    words = words_of(response)
    assert "1,028.09" in words
    assert "1,042.73" in words
    assert "14.64 more" in words
    assert path_of(newer) in response.content.decode()
    assert not GoAhead.objects.exists()


def test_expired_meanwhile_it_is_refused(client, version):
    sent = hidden(reviewed(client, version))
    with clock.frozen(in_hours(24 * 9)):
        response = client.post(path_of(version, "order"), sent)
    assert response.status_code == 409
    assert not GoAhead.objects.exists()


def test_nothing_at_all_can_be_the_answer(client, version, card):
    assert "Send this answer: nothing now" in words_of(reviewed(client, version, line1="not-now"))
    client.post(path_of(version, "order"), hidden(reviewed(client, version, line1="not-now")))
    assert str(GoAhead.objects.get().total_after_gross) == "0.00"


def test_a_hostile_name_is_inert_on_page_and_paper(client, version):
    bad = "<img src=x>=HYPERLINK(1)"
    response = reviewed(client, version, name=bad)
    assert "<img src=x" not in response.content.decode()
    client.post(path_of(version, "order"), hidden(response))
    assert GoAhead.objects.get().by == bad
    assert "<img src=x" not in client.get(path_of(version, "receipt")).content.decode()


def test_the_same_key_for_another_quote_is_refused(version, card):
    key = uuid.uuid4()
    given = {"name": "Osgood", "standing": "owner", "request_uid": key, "actor": ADA}
    actions.answer(version, answers={1: "accept", 2: "accept"}, **given)
    other = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[3])
    with pytest.raises(actions.Refused, match="another quote"):
        actions.answer(other, answers={3: "accept"}, **given)


def test_an_incomplete_answer_names_what_is_missing(version):
    with pytest.raises(actions.Incomplete) as refusal:
        actions.answer(version, answers={1: "accept"}, name=" ", standing="owner", request_uid=uuid.uuid4(), actor=ADA)
    assert (refusal.value.numbers, refusal.value.name, refusal.value.standing) == ([2], True, False)


@pytest.mark.parametrize("change", [{"set_after": [1, 2]}, {"by": "Somebody"}, {"dialled": "1"}, {"paper_id": None}])
def test_a_go_ahead_cannot_be_changed(client, version, change):
    ordered(client, version)
    with pytest.raises(IntegrityError), transaction.atomic():
        GoAhead.objects.update(**change)


@pytest.mark.parametrize("model", [GoAhead, Answer])
def test_an_answer_cannot_be_deleted(client, version, model):
    ordered(client, version)
    with pytest.raises(IntegrityError), transaction.atomic():
        model.objects.all()._raw_delete("default")


@pytest.mark.parametrize("which", ["order", "ask"])
def test_a_button_is_no_page(client, version, which):
    assert client.get(path_of(version, which)).status_code == 405
    assert client.post(reverse(f"quotes:{which}", args=["x" * 43]), WHOLE).status_code == 404


def test_review_without_a_choice_leads_back_to_it(client, version):
    response = client.get(path_of(version, "review"))
    assert (response.status_code, response["Location"]) == (302, path_of(version))
    assert client.get(reverse("quotes:review", args=["x" * 43])).status_code == 404


def test_the_same_number_with_another_answer_is_a_conflict_and_shows_what_stands(client, version):
    form = hidden(reviewed(client, version))
    assert client.post(path_of(version, "order"), form).status_code == 302
    before = everything_kept()
    for other in ({"line2": "accept"}, {"name": "Ilse Plumtree"}, {"standing": "authorised"}):
        response = client.post(path_of(version, "order"), {**form, **other})
        assert response.status_code == 409
        assert "The first answer stands; this one changed nothing." in words_of(response)
        assert "Order received" in words_of(response)
    assert client.post(path_of(version, "order"), form).status_code == 302
    assert everything_kept() == before


def test_the_verb_refuses_another_answer_under_the_same_number(version):
    said = {"answers": {1: "accept", 2: "not-now"}, "name": "Osgood", "standing": "owner", "request_uid": uuid.uuid4(), "actor": ADA}
    first = actions.answer(version, **said)
    assert actions.answer(version, **said) == first
    with pytest.raises(actions.Conflict, match="something else then"):
        actions.answer(version, **{**said, "answers": {1: "accept", 2: "accept"}})
    assert GoAhead.objects.count() == 1


@pytest.mark.parametrize("hostile", ["Os\x00good", "\x1b[2J", "a\u202eb"])
def test_a_name_that_no_paper_prints_is_refused(client, version, hostile):
    before = everything_kept()
    response = reviewed(client, version, name=hostile)
    assert response.status_code == 422
    assert "no paper can print" in words_of(response)
    assert everything_kept() == before
    with pytest.raises(actions.Refused, match="no paper can print"):
        actions.answer(version, answers={1: "accept", 2: "accept"}, name=hostile, standing="owner", request_uid=uuid.uuid4(), actor=ADA)


def test_a_ceiling_that_was_agreed_does_not_change(version):
    given = actions.answer(
        version, answers={1: "accept", 2: "accept"}, name="Osgood", standing="owner", request_uid=uuid.uuid4(), actor=ADA
    )
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        GoAhead.objects.filter(pk=given.pk).update(ceiling_gross=1)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        type(version).objects.filter(pk=version.pk).update(request_uid=uuid.uuid4())
