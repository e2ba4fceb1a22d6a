"""History: one line a verb, append-only, chained."""

import datetime as dt

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone

from workshop.company import actions as company
from workshop.company.models import Company
from workshop.history import actions, queries, registry
from workshop.history.models import Event

ACTOR = actions.Actor.system("test")


def lines(count: int) -> None:
    for number in range(count):
        company.write_wording(ACTOR, "terms", f"text {number}")


@pytest.mark.django_db
def test_lines_follow_each_other_and_read_as_sentences(company: Company) -> None:
    events = list(Event.objects.all())
    assert [event.seq for event in events] == [1, 2, 3]
    assert (
        registry.tell(events[0].kind, {"name": "Quillfeather", "profile": "vellmark"})
        == "set up Quillfeather with the tax profile vellmark"
    )
    assert list(queries.problems()) == []


@pytest.mark.django_db
@pytest.mark.parametrize(
    "deed",
    [
        lambda: Event.objects.all().delete(),
        lambda: Event.objects.update(kind="company.worded"),
        lambda: Event.objects.update(at="2020-01-01T00:00:00Z"),
        lambda: Event.objects.update(payload='{"another":"story"}'),
        lambda: Event.objects.bulk_update([Event(seq=1, actor_name="Nobody")], ["actor_name"]),
    ],
)
def test_the_database_itself_refuses_to_rewrite_history(deed: object) -> None:
    lines(2)
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        deed()  # type: ignore[operator]
    assert list(queries.problems()) == []


@pytest.mark.django_db
def test_a_blanked_payload_leaves_the_chain_whole() -> None:
    lines(3)
    actions.blank(Event.objects.get(seq=2), ACTOR, "asked to be forgotten")
    assert Event.objects.get(seq=2).payload == ""
    assert list(queries.problems()) == []
    assert queries.of_card(0) == []


@pytest.mark.django_db
@pytest.mark.parametrize(
    "change", ["kind = 'x'", "actor_name = 'x'", "payload = '{}'", "seq = 9", "prev = 'x'", "at = '2020-01-01 00:00:00'"]
)
def test_any_change_made_behind_the_triggers_is_found(change: str) -> None:
    lines(4)
    with connection.cursor() as cursor:
        for deed in ("update", "blank"):
            cursor.execute(f"DROP TRIGGER history_event_no_{deed}" + ("" if connection.vendor == "sqlite" else " ON history_event"))
        cursor.execute(f"UPDATE history_event SET {change} WHERE seq = 3")
    assert list(queries.problems()) != []


@pytest.mark.django_db
def test_a_cut_tail_is_found() -> None:
    lines(3)
    with connection.cursor() as cursor:
        cursor.execute("DROP TRIGGER history_event_no_delete" + ("" if connection.vendor == "sqlite" else " ON history_event"))
        cursor.execute("DELETE FROM history_event WHERE seq = 3")
    assert "its head says 3" in "".join(queries.problems())


@pytest.mark.django_db
def test_what_no_room_tells_cannot_be_recorded() -> None:
    with pytest.raises(LookupError, match=r"tells nonsense\.made"), transaction.atomic():
        actions.record("nonsense.made", ACTOR)


@pytest.mark.django_db
def test_the_deed_and_its_line_stand_or_fall_together() -> None:
    with pytest.raises(DatabaseError), transaction.atomic():
        company.write_wording(ACTOR, "terms", "text")
        with connection.cursor() as cursor:
            cursor.execute("SELECT nothing FROM nowhere")
    assert Event.objects.count() == 0


def test_a_sentence_tells_moments_and_amounts_as_people_write_them() -> None:
    told = {"quote": "26-0118 / 1", "for_whom": "Osgood", "offered": "1, 2", "total": "1403.98", "until": "2026-12-02T18:00:00Z"}
    sentence = registry.tell("quote.sent", told)
    assert "1,403.98 with tax" in sentence
    local = timezone.localtime(dt.datetime(2026, 12, 2, 18, tzinfo=dt.UTC))
    assert f"open until 2 Dec 2026, {local:%H:%M}" in sentence
    assert registry.readable("words", "1403.98") == "1403.98"
    assert registry.readable("value", "2026-12-02") == "2026-12-02"
    assert registry.readable("total", 3) == 3
