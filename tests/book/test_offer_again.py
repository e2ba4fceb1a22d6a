"""book:offer_again and the piece on jobs:card: what was "not now" comes back with its old photo."""

import pytest
from django.urls import reverse

from tests.book.making import another_card, left, pads
from tests.jobs.cards import TESTER, dairy_card, kinds, told
from workshop.inspections import actions as inspections
from workshop.jobs.actions import Refused
from workshop.jobs.models import Line


def shown(client, card):
    return " ".join(client.get(reverse("jobs:card", args=[card.pk])).content.decode().split())


def again(client, card, line):
    return client.post(reverse("book:offer_again", args=[card.pk, line.uid]))


def test_the_next_card_shows_what_was_not_now_with_the_photo_of_then(company, as_mechanic):
    card = dairy_card()
    finding, _ = left(card)
    text = shown(as_mechanic, another_card(card))
    assert "Asked before, not now" in text
    assert reverse("photos:picture", args=[finding.photos.get().photo.uid, "small"]) in text
    assert "Asked before" not in shown(as_mechanic, card)


def test_the_button_makes_a_draft_at_the_old_prices_with_the_old_finding(company, as_mechanic):
    old = dairy_card()
    finding, declined = left(old)
    card = another_card(old)
    before = told()
    answer = again(as_mechanic, card, declined)
    line = card.lines.get()
    assert answer.headers["Location"] == reverse("jobs:line", args=[line.uid])
    assert (line.answer, line.own_minutes, line.words, line.critical, line.repeats) == ("draft", 40, "Front pads", True, declined)
    assert [part.amount for part in line.parts.all()] == [part.amount for part in declined.parts.all()]
    assert [made.finding for made in line.findings.all()] == [finding]
    assert line.holds.filter(by_room="worksheets", released_at=None).count() == 1
    assert kinds(before) == ["inspections.line_again"]
    assert "Asked before" not in shown(as_mechanic, card)


def test_pressed_twice_it_is_one_line(company, as_mechanic):
    old = dairy_card()
    _, declined = left(old)
    card = another_card(old)
    again(as_mechanic, card, declined)
    before = told()
    assert again(as_mechanic, card, declined).status_code == 302
    assert (card.lines.count(), told()) == (1, before)


def test_a_struck_repeat_comes_back(company, as_mechanic):
    from workshop.jobs import actions as jobs

    old = dairy_card()
    _, declined = left(old)
    card = another_card(old)
    jobs.strike_line(TESTER, inspections.offer_again(TESTER, card, declined), "Not today either.", billed=lambda line: "")
    assert "Asked before, not now" in shown(as_mechanic, card)


def test_what_was_not_declined_or_belongs_to_another_vehicle_is_refused(company, as_mechanic):
    card = dairy_card()
    _, line = pads(card)
    other = dairy_card(vehicle={"make": "Ostrel", "model": "Wander 28"})
    answer = again(as_mechanic, other, line)
    assert answer.status_code == 409
    assert "was not answered" in answer.content.decode()
    assert Line.objects.count() == 1
    with pytest.raises(Refused):
        inspections.offer_again(TESTER, card, line)


def test_the_office_does_not_write_lines(company, as_office):
    old = dairy_card()
    _, declined = left(old)
    card = another_card(old)
    assert again(as_office, card, declined).status_code == 403
    assert "Offer “" not in shown(as_office, card)
