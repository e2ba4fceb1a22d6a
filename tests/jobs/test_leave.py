"""jobs:leave and jobs:come_back: the vehicle is left alone, and coming back starts with a look at it."""

import pytest
from django.urls import reverse

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from tests.jobs.test_access import opened, picture
from tests.jobs.test_spells import press, sheet
from workshop import clock
from workshop.jobs import actions
from workshop.jobs.models import Card, Leaving, Spell

LEFT = {
    "state": "Gearbox hangs on the jack, propshafts off.",
    "supports": "Four stands, chocks before and behind",
    "wheels": "on",
    "keys": "Hook in the dairy office",
    "no_start_card": "on",
    "told": "Ilse Brackwater",
}


@pytest.fixture
def line(company):
    return seal_line(dairy_card())


def leave(client, card, **more):
    sent = {**LEFT, "uid": a_uid(), **more}
    return client.post(reverse("jobs:leave", args=[card.pk]), {name: what for name, what in sent.items() if what != ""})


def left(card, **more):
    what = {**LEFT, "wheels_on": True, "no_start_card": True, **more}
    what.pop("wheels")
    return actions.leave_vehicle(TESTER, card, **what)


def test_it_is_left_with_photos_and_every_clock_stops(line, as_mechanic, mechanic, owner, held_clock):
    for person in (mechanic, owner):
        actions.start_spell(TESTER, line, person)
    before, uid = told(), a_uid()
    for _ in range(3):
        assert leave(as_mechanic, line.card, uid=uid, camera=picture()).status_code == 302
    assert kinds(before) == ["jobs.left"]
    leaving = Leaving.objects.get()
    assert (leaving.photos.count(), leaving.left_by) == (1, "Pip Tansley-Vole")
    assert set(Spell.objects.values_list("stopped_at", flat=True)) == {leaving.left_at}
    for page in ("jobs:card", "jobs:work", "jobs:leave"):
        text = as_mechanic.get(reverse(page, args=[line.card_id])).content.decode()
        assert "Gearbox hangs on the jack" in text
        assert "Left" in text


def test_while_it_is_left_nothing_is_worked_on_it(line, as_mechanic):
    step = actions.add_step(TESTER, line.card, words="Tray", open_minutes=1, close_minutes=1)
    behind = actions.add_step(TESTER, line.card, words="Belt", open_minutes=1, close_minutes=1)
    other = seal_line(line.card, steps=[step, behind])
    other.parts.update(reuse="never")
    episode = opened(step)
    left(line.card)
    buttons = {
        "jobs:start": line.uid,
        "jobs:finish": line.uid,
        "jobs:open_step": behind.uid,
        "jobs:bags": episode.uid,
        "jobs:closed": episode.uid,
        "jobs:fitted_new": other.parts.get().pk,
        "jobs:ready": line.card_id,
    }
    before = told()
    for button, thing in buttons.items():
        answer = press(as_mechanic, button, thing)
        assert answer.status_code == 409, button
        assert "Coming back starts with a look at it." in answer.content.decode()
    assert press(as_mechanic, "jobs:covers", episode.uid, why="x").status_code == 422
    assert told() == before
    assert f"/m/line/{line.uid}/start/" not in sheet(as_mechanic, line.card)


def test_a_ready_vehicle_that_is_left_is_not_closed(line, as_mechanic):
    Card.objects.update(state="ready")
    left(line.card)
    assert press(as_mechanic, "jobs:close", line.card_id, on="").status_code == 409


@pytest.mark.parametrize("name", ["state", "supports", "keys", "told", "wheels"])
@pytest.mark.parametrize("text", ["", "   ", "x" * 10_000])
def test_a_box_without_words_or_with_too_many_is_refused(line, as_mechanic, name, text):
    before = told()
    answer = leave(as_mechanic, line.card, **{name: text})
    assert answer.status_code == 422
    assert "1 box needs a look" in answer.content.decode()
    typed = [what for box, what in {**LEFT, name: text}.items() if box not in {"wheels", "no_start_card"} and what.strip()]
    assert [what for what in typed if what not in answer.content.decode()] == []
    assert (told(), Leaving.objects.count()) == (before, 0)


@pytest.mark.parametrize(
    ("because", "sent"),
    [("a wheel is off", {"wheels": "off"}), ("something is open", {}), ("it must not be driven", {})],
)
def test_the_do_not_start_card_hangs_when_it_must(line, as_mechanic, because, sent):
    if because == "something is open":
        step = actions.add_step(TESTER, line.card, words="Tray", open_minutes=1, close_minutes=1)
        seal_line(line.card, steps=[step])
        opened(step)
    if because == "it must not be driven":
        actions.set_advice(TESTER, line.card, "do_not", "No brakes.")
    answer = leave(as_mechanic, line.card, **sent, no_start_card="")
    assert answer.status_code == 422
    assert f"Hang the do-not-start card on the wheel and tick it: {because}." in answer.content.decode()
    assert leave(as_mechanic, line.card, **sent).status_code == 302
    assert Leaving.objects.get().no_start_card
    assert Leaving.objects.get().supports.startswith("a wheel is off") == bool(sent)


def test_on_its_wheels_and_whole_it_needs_no_card(line, as_mechanic):
    assert leave(as_mechanic, line.card, no_start_card="").status_code == 302


def test_a_page_used_on_another_card_is_refused(line, as_mechanic):
    uid, other = a_uid(), dairy_card()
    leave(as_mechanic, line.card, uid=uid)
    answer = leave(as_mechanic, other, uid=uid)
    assert answer.status_code == 422
    assert "The page has lost its number." in answer.content.decode()
    assert Leaving.objects.get().card == line.card


def test_it_is_left_once_at_a_time(line, as_mechanic):
    left(line.card)
    answer = leave(as_mechanic, line.card)
    assert answer.status_code == 422
    assert "already, by tester" in answer.content.decode()
    assert Leaving.objects.count() == 1


def test_a_card_that_is_over_is_not_left(line, as_mechanic):
    Card.objects.update(state="closed")
    assert leave(as_mechanic, line.card).status_code == 422
    assert Leaving.objects.count() == 0


def back(client, leaving, **sent):
    return client.post(reverse("jobs:come_back", args=[leaving.uid]), sent)


@pytest.mark.parametrize(
    ("sent", "look"), [({"found": "as_left"}, "as it was left"), ({"found": "changed", "words": "Oil"}, "changed: Oil")]
)
def test_coming_back_starts_with_a_look_and_work_goes_on(line, as_mechanic, sent, look):
    leaving = left(line.card)
    before = told()
    for _ in range(2):
        assert back(as_mechanic, leaving, **sent, camera=picture()).status_code == 302
    assert kinds(before) == ["jobs.came_back"]
    leaving.refresh_from_db()
    assert (leaving.look, leaving.photos.filter(on_return=True).count()) == (look, 1)
    assert leaving.back_at <= clock.now()
    assert press(as_mechanic, "jobs:start", line.uid).status_code == 302
    assert left(line.card) != leaving


@pytest.mark.parametrize(
    ("sent", "sentence"),
    [
        ({}, "Walk round it, then choose one."),
        ({"found": "stolen"}, "Walk round it, then choose one."),
        ({"found": "changed"}, "Changed how?"),
        ({"found": "changed", "words": "x" * 281}, "281 characters."),
    ],
)
def test_a_look_that_says_nothing_is_refused(line, as_mechanic, sent, sentence):
    leaving = left(line.card)
    before = told()
    answer = back(as_mechanic, leaving, **sent)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    leaving.refresh_from_db()
    assert (leaving.back_at, told()) == (None, before)


def test_hostile_words_stand_there_inert(line, as_mechanic):
    leaving = left(line.card, state=HOSTILE, supports=HOSTILE, keys=HOSTILE, told=HOSTILE)
    for page in ("jobs:card", "jobs:work", "jobs:leave"):
        assert HOSTILE not in as_mechanic.get(reverse(page, args=[line.card_id])).content.decode()
    back(as_mechanic, leaving, found="changed", words=HOSTILE)
    assert HOSTILE not in as_mechanic.get(reverse("jobs:card", args=[line.card_id])).content.decode()


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_leaves_them(line, request, who):
    client = request.getfixturevalue(who)
    assert client.get(reverse("jobs:leave", args=[line.card_id])).status_code == 403
    assert leave(client, line.card).status_code == 403
    assert back(client, left(line.card), found="as_left").status_code == 403
