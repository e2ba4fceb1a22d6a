"""Sending freezes everything. Figures: the house's worked example, made beforehand with exact decimals; no outside source."""

import datetime as dt
import json
import uuid
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from tests.quotes.conftest import ADA, in_hours, put_line
from workshop import clock
from workshop.calc import canonical
from workshop.history.models import Event
from workshop.jobs.models import Line
from workshop.letters.models import Letter
from workshop.links.queries import address, alive
from workshop.quotes import actions, queries
from workshop.quotes.models import Version

pytestmark = pytest.mark.django_db


def test_the_four_lines_together(all_four):
    assert all_four.total_gross == Decimal("1172.30")
    assert queries.price_choice(all_four, [1, 2, 3, 4]).gross == Decimal("1172.30")
    assert queries.price_choice(all_four, [1, 2, 3, 4]).minutes == 348


@pytest.mark.parametrize(
    ("accepted", "minutes", "net", "gross"),
    [
        ([1], 222, "540.60", "659.53"),
        ([2], 285, "605.30", "738.47"),
        ([3], 234, "366.70", "447.37"),
        ([4], 84, "190.60", "232.53"),
        ([1, 2], 303, "842.70", "1028.09"),
        ([], 0, "0.00", "0.00"),
    ],
)
def test_any_choice_is_priced_from_the_body_alone(all_four, accepted, minutes, net, gross):
    Line.objects.all().update(own_minutes=999)  # what happens on the card afterwards is no part of the version
    choice = queries.price_choice(Version.objects.get(), accepted)
    assert (choice.minutes, choice.net, choice.gross) == (minutes, Decimal(net), Decimal(gross))


def test_shown_prices_add_up_and_a_change_is_worked_out_anew(version):
    choice = queries.price_choice(version, [1, 2])
    assert [line.gross for line in choice.lines] == [Decimal("289.63"), Decimal("240.83")]
    assert choice.access.gross == Decimal("497.63")
    assert sum(line.gross for line in choice.lines) + choice.access.gross == choice.gross == Decimal("1028.09")
    assert [line.change for line in choice.lines] == [Decimal("-289.62"), Decimal("-368.56")]
    assert choice.access.users == choice.access.possible == (1, 2)


def test_the_last_user_of_a_step_takes_it_along(version):
    choice = queries.price_choice(version, [1])
    assert choice.gross == Decimal("659.53")
    assert choice.access.minutes == 204
    assert choice.access.gross == Decimal("369.90")
    assert choice.access.fallen == ("Coolant drained",)


def test_a_number_of_another_quote_is_not_priced(version):
    with pytest.raises(ValueError, match="no line 3"):
        queries.price_choice(version, [1, 3])


def test_the_body_is_canonical_and_its_hash_holds(version):
    version.refresh_from_db()
    assert canonical.sha256(version.body) == version.sha256
    assert canonical.dumps(json.loads(version.body)) == version.body
    assert queries.body(version)["total"]["gross"] == "1028.09"


def test_the_body_holds_what_was_shown_and_nothing_of_ours(version, finding):
    body = queries.body(version)
    assert body["business"]["licence_line"] == "Licence VM-4471"
    assert body["vehicle"] == {"make": "Ostrel", "model": "Wander 28", "plate_ending": "MO-2"}
    assert body["wrong"]["said"] == ["Make it so I come home."]
    assert body["pricing"]["rate_per_hour"] == "78.00"
    assert "cost" not in version.body
    assert "VM 00 DEMO-2" not in version.body


def test_photos_are_pinned_by_the_hash_of_their_bytes(card, finding, photo):
    version = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1])
    finding.photos.all().delete()  # moved elsewhere afterwards: shown as it was sent
    assert queries.photos(queries.body(version))[str(photo.uid)]["full"] == photo.full_id


def test_lines_become_offered_and_history_says_so_once(version, card):
    assert dict(card.lines.values_list("number", "answer")) == {1: "offered", 2: "offered", 3: "draft", 4: "draft"}
    event = Event.objects.get(kind="quote.sent")
    assert json.loads(event.payload)["total"] == "1028.09"


def test_it_stays_open_for_the_business_s_days_until_six(version):
    assert version.expires_at.astimezone(dt.UTC) > clock.now()
    from django.utils import timezone

    assert timezone.localtime(version.expires_at).hour == 18
    assert timezone.localdate(version.expires_at) == clock.today() + dt.timedelta(days=7)


def test_a_newer_version_replaces_an_open_one(version, card):
    newer = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[2, 3])
    version.refresh_from_db()
    assert (version.state, newer.no, newer.replaces, newer.after) == ("replaced", 2, version, None)
    assert dict(card.lines.values_list("number", "answer")) == {1: "draft", 2: "offered", 3: "offered", 4: "draft"}


def test_a_version_after_an_answered_one_carries_what_was_ordered(version, card):
    said = {1: "accept", 2: "not-now"}
    actions.answer(version, answers=said, name="Osgood", standing="owner", request_uid=uuid.uuid4(), actor=ADA)
    after = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[2])
    assert (after.after, after.replaces) == (version, None)
    assert [(row.line.number, row.standing) for row in after.lines.order_by("pk")] == [(1, "carried"), (2, "offered")]
    choice = queries.price_choice(after, [2])
    assert choice.committed_gross == Decimal("659.53")
    assert choice.gross == Decimal("368.56")  # the front is open already: only the drain is charged
    assert choice.after_gross == Decimal("1028.09")


def test_the_first_price_is_a_line_and_version_like_any_other(card):
    put_line(card, 5, "first_price", "Call-out, 34 km", 0, "", fixed=Decimal("137.63"))
    first = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[5])
    assert first.total_gross == Decimal("167.91")
    actions.answer(first, answers={5: "accept"}, name="Osgood", standing="owner", request_uid=uuid.uuid4(), actor=ADA)
    work = actions.send_version(ADA, card, for_whom="Osgood Plumtree", numbers=[1, 2])
    choice = queries.price_choice(work, [1, 2])
    assert (choice.gross, choice.committed_gross, choice.after_gross) == (Decimal("1028.09"), Decimal("167.91"), Decimal("1196.00"))


def test_a_letter_waits_when_there_is_a_mail_address(card, django_capture_on_commit_callbacks, mailoutbox):
    with django_capture_on_commit_callbacks(execute=True):
        version = actions.send_version(ADA, card, for_whom="Osgood Plumtree", email="osgood@plumtree.example")
    letter = Letter.objects.get()
    assert (letter.state, letter.subject_uid) == ("sent", version.uid)
    where = address(queries.link_of(version), "quotes:go_ahead")
    assert where in mailoutbox[0].body
    assert where.rsplit("/", 2)[-2] not in letter.body  # the token lies nowhere in the database


@pytest.mark.parametrize(("numbers", "said"), [([9], "no line 9"), ([], "No line waits")])
def test_what_cannot_be_offered_is_refused_with_a_sentence(card, numbers, said):
    with pytest.raises(actions.Refused, match=said):
        actions.send_version(ADA, card, for_whom="Osgood", numbers=numbers)
    assert not Version.objects.exists()


def test_an_accepted_line_is_not_offered_again(version, card):
    said = {1: "accept", 2: "not-now"}
    actions.answer(version, answers=said, name="Osgood", standing="owner", request_uid=uuid.uuid4(), actor=ADA)
    with pytest.raises(actions.Refused, match="Line 1 is accepted"):
        actions.send_version(ADA, card, for_whom="Osgood", numbers=[1, 2])


def test_a_day_that_has_passed_is_refused(card):
    with pytest.raises(actions.Refused, match="has passed"):
        actions.send_version(ADA, card, for_whom="Osgood", expires_at=in_hours(-1))


def test_one_quote_has_one_rate(card):
    card.lines.filter(number=1).update(rate_class="travel")
    with pytest.raises(actions.Refused, match="one hourly rate"):
        actions.send_version(ADA, card, for_whom="Osgood")


def test_taken_back_the_link_is_dead_and_the_lines_are_drafts(version, card):
    link = queries.link_of(version)
    actions.take_back(ADA, version)
    link.refresh_from_db()
    assert not alive(link)
    assert set(card.lines.values_list("answer", flat=True)) == {"draft"}
    with pytest.raises(actions.Refused):
        actions.take_back(ADA, version)


@pytest.mark.parametrize("change", [{"body": "{}"}, {"total_gross": 1}, {"sha256": "0" * 64}, {"expires_at": in_hours(900)}])
def test_a_version_cannot_be_changed(version, change):
    with pytest.raises(IntegrityError), transaction.atomic():
        Version.objects.filter(pk=version.pk).update(**change)


def test_a_version_cannot_be_deleted(version):
    with pytest.raises(IntegrityError), transaction.atomic():
        Version.objects.filter(pk=version.pk)._raw_delete("default")


def test_at_the_other_rate_rounding_shows(card):
    from workshop.company.models import Rate

    Rate.objects.filter(rate_class="workshop").update(hour_amount=Decimal("82.50"))
    version = actions.send_version(ADA, card, for_whom="Osgood")
    assert version.total_gross == Decimal("1204.16")
    assert queries.price_choice(version, [1, 2]).gross == Decimal("1055.84")
