"""The office's page (quotes:quote) and its buttons (quotes:send, quotes:phoned, quotes:take_back)."""

import re
import uuid
from urllib.parse import unquote

import pytest
from django.urls import reverse

from tests.quotes.conftest import ADA, put_line
from tests.quotes.test_go_ahead import page_of, words_of
from workshop.history.models import Event
from workshop.letters.models import Letter
from workshop.links.queries import address
from workshop.quotes import actions, queries
from workshop.quotes.models import GoAhead, Version

pytestmark = pytest.mark.django_db


def at(card, which="quote"):
    return reverse(f"quotes:{which}", args=[card.pk])


def sent(client, card, **changes):
    form = {"numbers": ["1", "2"], "for_whom": "Osgood Plumtree", "email": "", "expires_on": "2099-12-01"}
    return client.post(at(card, "send"), {**form, "request_uid": str(uuid.uuid4()), **changes})


def test_it_shows_what_the_customer_will_see(as_mechanic, card, finding):
    response = as_mechanic.get(at(card))
    words = words_of(response)
    assert "As the customer will see it" in words
    assert "Charged once. It stays as long as one of lines 1, 2, 3, 4 is ordered." in words
    assert "All of it: 1,172.30 incl. tax." in words
    assert "Timing belt cracked across the back" in words
    assert page_of(response).xpath("//input[@name='for_whom']/@value") == ["Osgood Plumtree"]
    assert not Version.objects.exists()


def test_look_at_it_takes_only_the_ticked_lines(as_mechanic, card):
    query = {"numbers": ["1", "2"], "for_whom": "Ilse", "email": "", "expires_on": "2099-12-01"}
    words = words_of(as_mechanic.get(at(card), query))
    assert "All of it: 1,028.09 incl. tax." in words
    assert "one of lines 1, 2 is ordered" in words


@pytest.mark.parametrize("who", ["as_owner", "as_mechanic", "as_office"])
def test_sending_freezes_a_version_and_shows_its_link(request, who, card):
    client = request.getfixturevalue(who)
    response = sent(client, card)
    assert response.status_code == 302
    version = Version.objects.get()
    where = address(queries.link_of(version), "quotes:go_ahead")
    shown = page_of(client.get(at(card)))
    assert where in shown.xpath("//input[@readonly]/@value")
    hrefs = " ".join(shown.xpath("//a/@href"))
    assert "sms:+999555010142?body=" in hrefs
    assert "mailto:osgood@plumtree.example?subject=" in hrefs
    assert shown.xpath("//svg//path") or shown.xpath("//*[local-name()='svg']//*[local-name()='path']")
    assert not shown.xpath("//*[@style]")


def test_the_words_to_share_come_from_one_template_and_the_button_waits_for_the_script(as_owner, card, version):
    shown = page_of(as_owner.get(at(card)))
    (button,) = shown.xpath("//button[@data-share]")
    words = "Quillfeather Mobile Diesel: your quote 26-0118 / 1 for the Ostrel Wander 28. Look at it and choose here:"
    where = address(queries.link_of(version), "quotes:go_ahead")
    assert (button.get("data-share"), button.get("data-address"), button.get("type")) == (words, where, "button")
    assert button.get("hidden") is not None
    for href in shown.xpath("//a[starts-with(@href, 'sms:') or starts-with(@href, 'mailto:')]/@href"):
        assert unquote(href).endswith(f"{words} {where}")


def test_the_bookkeeper_does_not_sell(as_bookkeeper, card):
    assert as_bookkeeper.get(at(card)).status_code == 403
    assert sent(as_bookkeeper, card).status_code == 403
    assert not Version.objects.exists()


def test_with_a_mail_address_a_letter_lies_in_the_out_tray(as_office, card):
    sent(as_office, card, email="osgood@plumtree.example")
    assert Letter.objects.get().to == "osgood@plumtree.example"
    assert "Letter to osgood@plumtree.example: waiting" in words_of(as_office.get(at(card)))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"numbers": []}, "No line is ticked."),
        ({"for_whom": ""}, "Nobody is named."),
        ({"email": "osgood"}, "No mail address like that."),
        ({"expires_on": "2001-01-01"}, "has passed"),
        ({"numbers": ["99"]}, "There is no such line to offer."),
    ],
)
def test_a_refused_form_keeps_what_was_typed(as_office, card, changes, said):
    response = sent(as_office, card, **changes)
    assert response.status_code == 422
    assert said in words_of(response)
    assert not Version.objects.exists()


def phoned(client, version, **changes):
    form = {"name": "Osgood", "number_dialled": "+999 555 010 142", "read_out": "on", "line1": "accept", "line2": "accept"}
    known = page_of(client.get(at(version.card))).xpath("//input[@name='request_uid']/@value")[0]
    return client.post(reverse("quotes:phoned", args=[version.uid]), {**form, "request_uid": known, **changes})


def test_a_phoned_answer_is_noted_only_with_the_total_that_was_read_out(as_mechanic, version):
    response = phoned(as_mechanic, version)
    assert response.status_code == 422
    assert "This choice costs 1,028.09 incl. tax. Read it out" in words_of(response)
    assert not GoAhead.objects.exists()
    assert phoned(as_mechanic, version, total="1028.09").status_code == 302
    given = GoAhead.objects.get()
    assert (given.channel, given.dialled, given.by) == ("phoned", "+999 555 010 142", "Osgood")
    assert str(given.total_after_gross) == "1028.09"
    assert Event.objects.get(kind="quote.phoned").actor.startswith("staff:")


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"read_out": ""}, "Read them out, then tick."),
        ({"number_dialled": ""}, "No number."),
        ({"line2": ""}, "No answer yet."),
        ({"name": ""}, "Nobody is named."),
    ],
)
def test_a_phoned_answer_with_a_gap_is_refused(as_mechanic, version, changes, said):
    response = phoned(as_mechanic, version, total="1028.09", **changes)
    assert response.status_code == 422
    assert said in words_of(response)
    assert not GoAhead.objects.exists()


def test_taken_back(as_mechanic, version):
    assert as_mechanic.post(reverse("quotes:take_back", args=[version.uid])).status_code == 302
    version.refresh_from_db()
    assert version.state == "revoked"


def test_an_answer_shows_with_who_and_how(as_mechanic, version):
    phoned(as_mechanic, version, total="1028.09")
    words = words_of(as_mechanic.get(at(version.card)))
    assert "Osgood, on the telephone" in words
    assert "ordered so far 1,028.09" in words
    assert "Receipt of version 1" in words


def test_a_card_without_lines_says_what_to_do(as_mechanic, card):
    card.lines.update(answer="withdrawn")
    assert "No line waits for an answer." in words_of(as_mechanic.get(at(card)))


def test_a_new_version_says_what_it_replaces(as_mechanic, version):
    assert re.search(r"Sending replaces version 1\.", words_of(as_mechanic.get(at(version.card))))
    actions.send_version(ADA, version.card, for_whom="Osgood", numbers=[3])
    assert "replaced" in words_of(as_mechanic.get(at(version.card)))


def test_a_line_at_nothing_is_said_and_not_sent(as_mechanic, card):
    put_line(card, 5, "wanted", "Heater hose", 0, "")
    words = words_of(as_mechanic.get(at(card)))
    assert "5 Heater hose · No price yet · No plain words for the customer" in words
    assert words.count("No price yet") == 2
    response = sent(as_mechanic, card, numbers=["1", "5"])
    assert response.status_code == 422
    assert "No price yet on line 5. Write its minutes or parts, or fix it at 0.00 with the reason." in words_of(response)
    assert not card.versions.exists()
    card.lines.filter(number=5).update(fixed_amount=0, fixed_reason="goodwill")
    assert sent(as_mechanic, card, numbers=["1", "5"]).status_code == 302


@pytest.mark.parametrize(
    ("place", "condition", "asked"),
    [("Engine, front", "act", False), ("Engine, front", "stop", True), ("Brakes, wheels", "act", True), ("Brakes, wheels", "watch", False)],
)
def test_a_stop_without_a_word_on_driving_is_said_before_sending(as_mechanic, card, finding, place, condition, asked):
    type(finding).objects.filter(pk=finding.pk).update(place=place, condition=condition)
    said = "Say whether it may be driven"
    assert said not in words_of(as_mechanic.get(at(card)))
    type(card).objects.filter(pk=card.pk).update(drive_advice="", drive_words="")
    page = as_mechanic.get(at(card))
    assert (said in words_of(page)) is asked
    assert (f"{reverse('jobs:card', args=[card.pk])}#driving" in page.content.decode()) is asked


def test_what_was_just_sent_is_not_under_the_thumb_again(as_mechanic, all_four):
    filled = b'class="btn do full">Send version 2'
    page = as_mechanic.get(at(all_four.card))
    assert filled not in page.content
    assert "Version 1 offers just this." in words_of(page)
    all_four.card.lines.filter(number=1).update(words="Timing belt kit, with tensioner")
    assert filled in as_mechanic.get(at(all_four.card)).content


def test_a_day_that_has_passed_is_said_beside_its_box(as_mechanic, card):
    response = sent(as_mechanic, card, expires_on="2020-01-01")
    assert response.status_code == 422
    box = page_of(response).xpath("//input[@name='expires_on']")[0]
    assert box.get("aria-invalid") == "true"
    assert "That day has passed. Choose a later one." in words_of(response)


def test_the_card_lists_a_stop_without_a_word_on_driving(as_mechanic, card, finding):
    type(finding).objects.filter(pk=finding.pk).update(condition="stop")
    said = "is stop: say whether it may be driven"
    assert said not in words_of(as_mechanic.get(reverse("jobs:card", args=[card.pk])))
    type(card).objects.filter(pk=card.pk).update(drive_advice="", drive_words="")
    response = as_mechanic.get(reverse("jobs:card", args=[card.pk]))
    assert said in words_of(response)
    assert page_of(response).xpath("//*[@id='driving']")


def test_a_double_tap_sends_one_version_and_one_letter(as_office, card):
    form = {"email": "osgood@plumtree.example", "request_uid": str(uuid.uuid4())}
    assert [sent(as_office, card, **form).status_code for _ in range(2)] == [302, 302]
    assert (Version.objects.count(), Letter.objects.count(), Event.objects.filter(kind="quote.sent").count()) == (1, 1, 1)


@pytest.mark.parametrize(
    "changes", [{"numbers": ["1"]}, {"for_whom": "Ilse"}, {"email": "ilse@plumtree.example"}, {"expires_on": "2099-12-02"}]
)
def test_the_same_page_with_other_content_is_a_conflict_and_can_be_sent_knowingly(as_office, card, changes):
    number = str(uuid.uuid4())
    sent(as_office, card, request_uid=number)
    response = sent(as_office, card, request_uid=number, **changes)
    assert response.status_code == 409
    assert "This page sent 26-0118 / 1 already, with other content." in words_of(response)
    assert Version.objects.count() == 1
    anew = page_of(response).xpath("//form//input[@name='request_uid']/@value")[-1]
    assert anew != number
    assert sent(as_office, card, request_uid=anew, **changes).status_code == 302
    assert Version.objects.count() == 2


@pytest.mark.parametrize("number", ["", "7"])
def test_a_page_without_its_number_sends_nothing(as_office, card, number):
    response = sent(as_office, card, request_uid=number)
    assert response.status_code == 422
    assert "The page has lost its number." in words_of(response)
    assert not Version.objects.exists()


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"tax_code": "exempt"}, "Line 3 has tax code exempt, what is ordered on this card has standard."),
        ({"rate_class": "travel"}, "Line 3 has the hourly rate for travel, what is ordered on this card has that for workshop."),
    ],
)
def test_a_later_version_takes_no_line_of_another_rate_or_code(as_office, card, version, changes, said):
    actions.answer(
        version, answers={1: "accept", 2: "accept"}, name="Osgood", standing="owner", request_uid=uuid.uuid4(), actor=ADA, channel="link"
    )
    card.lines.filter(number=3).update(**changes)
    response = sent(as_office, card, numbers=["3"])
    assert response.status_code == 422
    assert said in words_of(response)
    assert Version.objects.count() == 1
    card.lines.filter(number=3).update(rate_class="travel", tax_code="standard", fixed_amount="50.00", fixed_reason="agreed")
    assert sent(as_office, card, numbers=["3"]).status_code == 302, "a fixed price asks no hourly rate"


@pytest.mark.parametrize("box", ["for_whom"])
@pytest.mark.parametrize("hostile", ["Os\x00good", "Os\u202egood"])
def test_words_that_no_paper_prints_are_refused(as_office, card, box, hostile):
    response = sent(as_office, card, **{box: hostile})
    assert response.status_code == 422
    assert "no paper can print" in words_of(response)
    assert not Version.objects.exists()


def test_the_same_phoned_answer_is_one_and_another_under_its_number_a_conflict(as_mechanic, version):
    number = str(uuid.uuid4())
    first = {"total": "1028.09", "request_uid": number}
    form = {"name": "Osgood", "number_dialled": "1", "read_out": "on", "line1": "accept", "line2": "accept", **first}
    url = reverse("quotes:phoned", args=[version.uid])
    assert [as_mechanic.post(url, form).status_code for _ in range(2)] == [302, 302]
    response = as_mechanic.post(url, {**form, "name": "Ilse"})
    assert response.status_code == 409
    assert (GoAhead.objects.count(), GoAhead.objects.get().by) == (1, "Osgood")
