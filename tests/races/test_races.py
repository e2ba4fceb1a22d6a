"""Two at the same instant: one wins, the other gets a sentence, and everything adds up. Real connections, on both databases."""

import json
from pathlib import Path

import pytest

from tests import homes

pytestmark = [pytest.mark.slow, pytest.mark.both_databases]


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict:
    folder: Path = tmp_path_factory.mktemp("races")
    with homes.place(folder) as surroundings:
        homes.django(surroundings, "migrate", "-v0")
        assert (
            homes.script(surroundings, "import sys; from tests.races.racing import run; run(sys.argv[1])", str(folder / "told")).wait() == 0
        )
    return json.loads((folder / "told").read_text())


def one_won(rounds: list, *sentences: str) -> None:
    for *deeds, kept in rounds:
        assert sorted(how for how, _ in deeds) == ["done", "refused"], deeds
        (said,) = [words for how, words in deeds if how == "refused"]
        assert any(sentence in said for sentence in sentences), said
        assert kept[0] == "kept"


def test_of_two_answers_one_counts(told):
    one_won(told["races"]["answer_against_answer"], "This quote is no longer open.")
    assert all(kept == "1" for *_, (_, kept) in told["races"]["answer_against_answer"])


def test_the_same_answer_sent_three_times_counts_once_and_each_gets_it(told):
    for *deeds, (_, kept) in told["races"]["the_same_answer_twice"]:
        assert {how for how, _ in deeds} == {"done"}, deeds
        assert kept == "1"


def test_an_answer_and_a_new_version_do_not_both_hold(told):
    rounds = told["races"]["answer_against_a_new_version"]
    one_won(rounds, "This quote is no longer open.", "No line waits for an answer.")
    for (answered, _), _, (_, kept) in rounds:
        assert kept == ("answered 1 1" if answered == "done" else "replaced 0 2")


def test_one_page_sends_one_version_however_often_it_is_pressed(told):
    for *deeds, (_, kept) in told["races"]["one_page_sends_once"]:
        assert {how for how, _ in deeds} == {"done"}, deeds
        assert (len({what for _, what in deeds}), kept) == (1, "1")


def test_of_two_invoices_over_the_same_work_one_is_issued(told):
    one_won(told["races"]["issue_against_issue"], "nothing to invoice")
    assert all(kept == "1" for *_, (_, kept) in told["races"]["issue_against_issue"])


def test_numbers_have_no_gap_and_no_double(told):
    for deeds in told["races"]["many_issue_at_once"]:
        assert {how for how, _ in deeds} == {"done"}, deeds
        assert len({what for _, what in deeds}) == 4
    assert [int(number.rpartition("-")[2]) for number in told["numbers"]] == list(range(1, len(told["numbers"]) + 1))


def test_of_two_payments_over_all_that_is_open_one_is_taken(told):
    one_won(told["races"]["payment_against_payment"], "Nothing is open on")
    assert all(kept == "1" for *_, (_, kept) in told["races"]["payment_against_payment"])


def test_a_payment_and_a_credit_note_leave_nothing_open_and_no_money_lost(told):
    """The payment first: its money is credit. The note first: nothing is open, so the payment is refused."""
    for (paid, said), (credited, _), (_, kept) in told["races"]["payment_against_credit_note"]:
        assert credited == "done"
        assert paid == "done" or "Nothing is open on" in said
        assert kept == ("0.00 1028.09" if paid == "done" else "0.00 0")


def test_credit_is_used_or_given_back_not_both(told):
    one_won(told["races"]["credit_used_against_credit_given_back"], "There is no credit to use.", "has a credit of 0.00, not 100.00")
    assert all(kept == "0" for *_, (_, kept) in told["races"]["credit_used_against_credit_given_back"])


def test_and_everything_adds_up(told):
    assert told["problems"] == []
