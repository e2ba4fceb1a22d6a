"""scheduling:move, scheduling:finish and scheduling:cancel: the buttons of a stop."""

import pytest
from django.urls import reverse

from tests.scheduling.stops import HOSTILE, TESTER, kinds, plan, text, told
from workshop.jobs import actions as jobs
from workshop.jobs.actions import Refused
from workshop.scheduling import actions
from workshop.scheduling.models import Stop


def press(client, name, stop, **typed):
    return client.post(reverse(f"scheduling:{name}", args=[stop.uid]), typed)


def order():
    return list(Stop.objects.order_by("position").values_list("pk", flat=True))


def test_a_stop_goes_later_and_earlier_and_its_time_stays(card, other, as_office):
    first, second = plan(card, 8), plan(other, 12)
    before = told()
    assert press(as_office, "move", first, way="later", seen=first.changes).headers["Location"] == "/m/"
    assert order() == [second.pk, first.pk]
    assert press(as_office, "move", first, way="earlier", seen=first.changes + 1).status_code == 302
    assert order() == [first.pk, second.pk]
    assert Stop.objects.get(pk=first.pk).planned_at == first.planned_at
    assert kinds(before) == ["scheduling.stop_moved"] * 2


def test_a_second_tap_moves_nothing(card, other, as_mechanic):
    first, second, third = plan(card, 8), plan(other, 12), plan(card, 16)
    answers = [press(as_mechanic, "move", first, way="later", seen=first.changes) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [302, 409]
    assert "Somebody changed this stop" in text(answers[1])
    assert order() == [second.pk, first.pk, third.pk]


@pytest.mark.parametrize(
    ("way", "seen", "sentence"),
    [
        ("earlier", None, "It is the first stop of the day already."),
        ("sideways", None, "A stop moves earlier or later."),
        (HOSTILE, None, "A stop moves earlier or later."),
        ("later", "", "Somebody changed this stop"),
        ("later", "9" * 4000, "Somebody changed this stop"),
    ],
)
def test_a_move_that_cannot_be_is_refused(card, other, as_mechanic, way, seen, sentence):
    first, _ = plan(card, 8), plan(other, 12)
    before, was = told(), order()
    answer = press(as_mechanic, "move", first, way=way, seen=first.changes if seen is None else seen)
    assert answer.status_code == 409 and sentence in text(answer)
    assert (told(), order()) == (before, was)


def test_the_last_stop_goes_no_later(card):
    stop = plan(card)
    with pytest.raises(Refused, match="It is the last stop of the day already"):
        actions.move_stop(TESTER, stop, "later", seen=stop.changes)


def test_done_and_not_done_after_all(card, as_mechanic, as_office):
    stop, before = plan(card), told()
    assert press(as_office, "finish", stop).status_code == 403
    assert [press(as_mechanic, "finish", stop).status_code for _ in range(2)] == [302, 302]
    assert Stop.objects.get().done_at
    assert "done" in text(as_mechanic.get("/m/"))
    assert press(as_mechanic, "finish", stop, done="no").status_code == 302
    assert Stop.objects.get().done_at is None
    assert kinds(before) == ["scheduling.stop_done", "scheduling.stop_undone"]


def test_a_cancelled_stop_leaves_the_run_sheet_and_stays_on_the_card(card, as_office):
    stop, before = plan(card), told()
    assert press(as_office, "cancel", stop, reason=" The flywheel is\nlate. ").status_code == 302
    stop.refresh_from_db()
    assert stop.cancelled_at and stop.cancelled_reason == "The flywheel is late."
    card.refresh_from_db()
    assert card.due_at is None
    assert "The flywheel is late." in text(as_office.get(reverse("scheduling:stop", args=[card.pk])))
    assert "0 stops today" in text(as_office.get("/m/"))
    assert kinds(before) == ["scheduling.stop_cancelled"]


@pytest.mark.parametrize(("reason", "sentence"), [("", "No reason. Say why"), ("  ", "No reason."), (HOSTILE * 20, "At most 200")])
def test_without_a_reason_nothing_is_cancelled(card, as_mechanic, reason, sentence):
    stop, before = plan(card), told()
    answer = press(as_mechanic, "cancel", stop, reason=reason)
    assert answer.status_code == 422
    assert sentence in text(answer) and reason.strip() in text(answer)
    assert HOSTILE not in answer.content.decode()
    assert (Stop.objects.get().cancelled_at, told()) == (None, before)


def test_cancelled_once_is_enough_and_what_is_done_is_not_cancelled(card, as_mechanic):
    stop, done = plan(card), plan(card, 16)
    actions.finish_stop(TESTER, done)
    answer = press(as_mechanic, "cancel", done, reason="Late.")
    assert answer.status_code == 409 and "We were there" in text(answer)
    actions.cancel_stop(TESTER, stop, "Late.")
    for name, typed in (("cancel", {"reason": "Again."}), ("finish", {}), ("move", {"way": "later", "seen": 2})):
        answer = press(as_mechanic, name, stop, **typed)
        assert answer.status_code == 409 and "is cancelled: “Late.” Plan a new one." in text(answer)


def test_a_cancelled_card_takes_its_stops_off_the_run_sheet(card, as_mechanic):
    stop = plan(card)
    jobs.cancel_card(TESTER, card, "Sold.", billed=lambda card: "")
    assert "0 stops today" in text(as_mechanic.get("/m/"))
    assert press(as_mechanic, "finish", stop).status_code == 409
