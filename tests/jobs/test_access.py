"""jobs:open_step, jobs:bags, jobs:covers, jobs:closed: opening up and closing again."""

import io
import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import IntegrityError, transaction
from django.urls import reverse
from PIL import Image

from tests.jobs.cards import HOSTILE, TESTER, a_uid, dairy_card, kinds, seal_line, told
from tests.jobs.test_spells import press, sheet
from workshop import clock
from workshop.jobs import actions
from workshop.jobs.models import Card, Episode, Hold, Line
from workshop.photos.models import Photo


@pytest.fixture
def front(company):
    """Tray, then belt behind it; a line ordered that needs the belt off. A sump plug that nobody needs."""
    card = dairy_card()
    tray = actions.add_step(TESTER, card, words="Tray", open_minutes=12, close_minutes=12)
    belt = actions.add_step(TESTER, card, words="Drive belt", open_minutes=25, close_minutes=25, needs=[tray])
    plug = actions.add_step(TESTER, card, words="Sump plug", open_minutes=5, close_minutes=5)
    seal_line(card, steps=[belt])
    return tray, belt, plug


def picture():
    file = io.BytesIO()
    Image.new("RGB", (64, 48), "#886644").save(file, "JPEG")
    return SimpleUploadedFile("covers.jpg", file.getvalue(), "image/jpeg")


def refused(client, button, thing, sentence, status=409, **typed):
    before, was = told(), list(Episode.objects.order_by("pk").values())
    answer = press(client, button, thing.uid, **typed)
    assert answer.status_code == status
    assert sentence in answer.content.decode()
    assert (told(), list(Episode.objects.order_by("pk").values())) == (before, was)


def opened(step, **more):
    return actions.open_step(TESTER, step, **more)


def shut(episode):
    actions.begin_closing(TESTER, episode, None, "camera is wet")
    return actions.end_closing(TESTER, episode)


def test_opened_bagged_closed_with_a_photo(front, as_mechanic):
    tray, belt, _ = front
    before = told()
    press(as_mechanic, "jobs:open_step", tray.uid, bags="1, 2")
    press(as_mechanic, "jobs:open_step", belt.uid)
    episode = Episode.objects.get(step=belt)
    for _ in range(2):
        press(as_mechanic, "jobs:bags", episode.uid, bags="3")
    assert as_mechanic.get(reverse("jobs:covers", args=[episode.uid])).status_code == 200
    for _ in range(2):
        press(as_mechanic, "jobs:covers", episode.uid, camera=picture())
        press(as_mechanic, "jobs:closed", episode.uid)
    assert kinds(before) == ["jobs.step_opened", "jobs.step_opened", "jobs.step_bagged", "jobs.step_closing", "jobs.step_closed"]
    episode.refresh_from_db()
    assert (episode.state, episode.bags, episode.cause) == ("closed", "3", "planned")
    assert episode.photo
    assert "bags 1, 2" in sheet(as_mechanic, tray.card)


def test_what_stands_before_is_opened_first_and_what_stands_behind_is_closed_first(front, as_mechanic):
    tray, belt, _ = front
    refused(as_mechanic, "jobs:open_step", belt, "Tray is still closed. Open it before Drive belt.")
    tray_open, belt_open = opened(tray), opened(belt)
    refused(as_mechanic, "jobs:covers", tray_open, "Drive belt is still open behind Tray.", status=422, why="none")
    actions.begin_closing(TESTER, belt_open, None, "dark")
    refused(as_mechanic, "jobs:covers", tray_open, "Drive belt is still open behind Tray.", status=422, why="none")
    actions.end_closing(TESTER, belt_open)
    assert press(as_mechanic, "jobs:covers", tray_open.uid, why="none").status_code == 302


def test_nothing_is_opened_that_nobody_ordered(front, as_mechanic):
    tray, _, plug = front
    refused(as_mechanic, "jobs:open_step", plug, "No ordered line needs Sump plug.")
    Line.objects.update(answer="offered")
    refused(as_mechanic, "jobs:open_step", tray, "No ordered line needs Tray.")


def test_an_ordered_strip_opens_what_it_needs(front, as_mechanic):
    _, _, plug = front
    strip = actions.add_strip(TESTER, plug.card, words="Look at the sump", why="To see what is in the oil.", steps=[plug])
    actions.write_answers(plug.card, {strip.pk: "accepted"})
    assert press(as_mechanic, "jobs:open_step", plug.uid).status_code == 302


def test_before_the_covers_go_on_there_is_a_photo_or_a_reason(front, as_mechanic):
    tray = opened(front[0])
    refused(as_mechanic, "jobs:covers", tray, "No photo of what Tray will cover.", status=422)
    refused(as_mechanic, "jobs:covers", tray, "201 characters.", status=422, why="x" * 201)
    refused(as_mechanic, "jobs:closed", tray, "Begin to close it with a photo")
    wrong = SimpleUploadedFile("notes.jpg", b"no picture", "image/jpeg")
    refused(as_mechanic, "jobs:covers", tray, "This is not a picture that can be read.", status=422, camera=wrong)
    press(as_mechanic, "jobs:covers", tray.uid, why=HOSTILE)
    tray.refresh_from_db()
    assert (tray.state, tray.no_photo_why, Photo.objects.count()) == ("closing", HOSTILE, 0)
    assert HOSTILE not in as_mechanic.get(reverse("jobs:card", args=[front[0].card_id])).content.decode()


def test_a_picture_that_was_taken_stays_when_closing_is_refused(front, as_mechanic):
    tray, belt, _ = front
    episode = opened(tray)
    opened(belt)
    answer = press(as_mechanic, "jobs:covers", episode.uid, camera=picture())
    kept = Photo.objects.get()
    assert answer.status_code == 422
    assert f'name="kept" value="{kept.uid}"' in answer.content.decode()
    shut(Episode.objects.get(step=belt))
    press(as_mechanic, "jobs:covers", episode.uid, kept=str(kept.uid))
    episode.refresh_from_db()
    assert episode.photo == kept


@pytest.mark.parametrize("kept", ["nonsense", str(uuid.uuid4())])
def test_a_picture_that_is_not_there_is_no_picture(front, as_mechanic, kept):
    refused(as_mechanic, "jobs:covers", opened(front[0]), "No photo of what Tray will cover.", status=422, kept=kept)


def test_opened_again_it_is_a_new_opening_with_its_cause(front, as_mechanic):
    tray = front[0]
    shut(opened(tray))
    for cause in ("", "planned", "whim"):
        refused(as_mechanic, "jobs:open_step", tray, "Choose why it is opened again.", cause=cause)
    press(as_mechanic, "jobs:open_step", tray.uid, cause="ours")
    assert list(Episode.objects.order_by("pk").values_list("cause", flat=True)) == ["planned", "ours"]
    assert "opened again: our fault" in as_mechanic.get(reverse("jobs:card", args=[tray.card_id])).content.decode()


def test_a_double_tap_opens_once_and_another_page_is_told(front, as_mechanic):
    tray, uid = front[0], a_uid()
    before = told()
    for _ in range(3):
        assert press(as_mechanic, "jobs:open_step", tray.uid, uid=uid).status_code == 302
    assert kinds(before) == ["jobs.step_opened"]
    refused(as_mechanic, "jobs:open_step", tray, "Tray is open already.", uid=a_uid())
    with pytest.raises(IntegrityError), transaction.atomic():
        Episode.objects.create(step=tray, opened_at=clock.now(), opened_by="x")


def test_bags_are_short_and_closed_ones_stay(front, as_mechanic):
    tray = front[0]
    refused(as_mechanic, "jobs:open_step", tray, "61 characters for the bags.", bags="1" * 61)
    episode = opened(tray)
    refused(as_mechanic, "jobs:bags", episode, "10,000 characters for the bags.", bags="1" * 10_000)
    shut(episode)
    refused(as_mechanic, "jobs:bags", episode, "Tray was closed on", bags="1")


def test_a_card_that_is_over_or_a_place_that_is_refused_opens_nothing(front, as_mechanic):
    tray = front[0]
    hold = actions.write_hold(tray.card, None, Hold.Stops.START, "Slope.", "inspections")
    refused(as_mechanic, "jobs:open_step", tray, "Nothing is opened here. Slope.")
    actions.write_release(hold, "Ada", "moved")
    episode = opened(tray)
    Card.objects.update(state="closed")
    for button in ("jobs:bags", "jobs:closed"):
        refused(as_mechanic, button, episode, "Take a new enquiry")
    refused(as_mechanic, "jobs:covers", episode, "Take a new enquiry", status=422, why="x")


def test_a_vehicle_with_something_open_is_not_ready(front, as_mechanic):
    tray = front[0]
    episode = opened(tray)
    actions.finish_line(TESTER, tray.card.lines.get())
    answer = as_mechanic.post(reverse("jobs:ready", args=[tray.card_id]))
    assert answer.status_code == 409
    assert "Tray is still open." in answer.content.decode()
    assert "Open:</strong> Tray" in answer.content.decode()
    shut(episode)
    assert as_mechanic.post(reverse("jobs:ready", args=[tray.card_id])).status_code == 302
    again = opened(tray, cause="ours")
    assert as_mechanic.post(reverse("jobs:close", args=[tray.card_id])).status_code == 409
    shut(again)
    assert as_mechanic.post(reverse("jobs:ready", args=[tray.card_id])).status_code == 302
    assert as_mechanic.post(reverse("jobs:close", args=[tray.card_id])).status_code == 302


def test_a_card_is_not_cancelled_with_the_vehicle_open_or_left(front):
    tray = front[0]
    episode = opened(tray)
    with pytest.raises(actions.Refused, match="Tray is still open"):
        actions.cancel_card(TESTER, tray.card, "sold", billed=lambda card: "")
    shut(episode)
    what = {"state": "x", "supports": "x", "keys": "x", "told": "x"}
    leaving = actions.leave_vehicle(TESTER, tray.card, **what, wheels_on=True, no_start_card=False)
    with pytest.raises(actions.Refused, match="Coming back starts with a look"):
        actions.cancel_card(TESTER, tray.card, "sold", billed=lambda card: "")
    actions.come_back(TESTER, leaving, found="as_left")
    assert actions.cancel_card(TESTER, tray.card, "sold", billed=lambda card: "").state == "cancelled"


@pytest.mark.parametrize("who", ["as_office", "as_bookkeeper"])
def test_only_who_works_on_vehicles_opens_and_closes(front, request, who):
    client, episode = request.getfixturevalue(who), opened(front[0])
    for button, thing in (("jobs:open_step", front[1]), ("jobs:bags", episode), ("jobs:covers", episode), ("jobs:closed", episode)):
        assert press(client, button, thing.uid).status_code == 403


def test_a_page_used_on_another_step_is_refused(front, as_mechanic):
    tray, belt, _ = front
    uid = a_uid()
    for _ in range(2):
        assert press(as_mechanic, "jobs:open_step", tray.uid, uid=uid).status_code == 302
    refused(as_mechanic, "jobs:open_step", belt, "The page has lost its number.", uid=uid)


def test_a_line_whose_step_was_never_opened_is_done_in_two_places(front, as_mechanic):
    """A wet finger does not finish it beside Start; once it was opened and closed again the button stands there."""
    tray, belt, _ = front
    folded = "<details><summary>Done, though never opened: Drive belt</summary>"
    assert folded in sheet(as_mechanic, tray.card)
    episodes = [opened(tray), opened(belt)]
    assert folded not in sheet(as_mechanic, tray.card)
    for episode in reversed(episodes):
        shut(episode)
    assert "though never opened" not in sheet(as_mechanic, tray.card)
    assert "Line 1 is done" in sheet(as_mechanic, tray.card)
