"""A note written without signal survives the death of the browser and arrives exactly once, though the first answer is lost."""

import time
from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from tests.browser.home import Home
from tests.browser.phone import Phone, kept, kept_text, rows, signed_in, until, wait_until_kept
from tests.browser.proxy import Line

WORDS = "Tensioner rattles at idle, quiet at 1,500."
CARD = "/m/card/1/"


@pytest.fixture
def page(phone: Phone, line: Line) -> Iterator[Page]:
    """The mechanic's phone after a visit with signal: the run sheet and today's card are kept."""
    page = phone.open()
    signed_in(page, "pip", line.url)
    wait_until_kept(page, CARD)
    page.goto(f"{line.url}{CARD}")
    expect(page.get_by_role("heading", level=1)).to_have_text("Job card")
    return page


def write(page: Page, words: str) -> None:
    page.get_by_label("Note").fill(words)
    page.get_by_role("button", name="Save note").click()


def on_card(page: Page, words: str) -> None:
    """The entry stands on the card, and where it is."""
    expect(page.locator("[data-row]").first).to_contain_text(words)


@pytest.mark.both_databases
def test_it_survives_and_arrives_once(home: Home, line: Line, phone: Phone, page: Page) -> None:
    home.stop()
    phone.offline()
    line.seen.clear()
    started = time.monotonic()
    page.goto(f"{line.url}{CARD}")
    expect(page.get_by_role("heading", level=1)).to_have_text("Job card")
    assert time.monotonic() - started < 2
    assert line.seen == []

    write(page, WORDS)
    on_card(page, "on this phone")
    expect(page.locator(".sent-link")).to_have_text("1 on this phone")
    [before] = rows(page)
    assert phone.kill() >= 3

    page = phone.open(offline=True)
    page.goto(f"{line.url}{CARD}")
    on_card(page, WORDS)
    on_card(page, "on this phone")
    [after] = rows(page)
    assert (after["id"], after["body"], after["state"]) == (before["id"], before["body"], "here")
    assert line.operations() == []

    home.start()
    line.drop = 1
    phone.offline(False)
    on_card(page, "safe in the office")
    expect(page.locator(".sent-link")).to_have_text("nothing waits here")
    assert line.dropped == 1
    assert [status for request, status in line.answers if request.startswith("PUT")] == [201, 200]

    [sent] = rows(page)
    [note] = home.rows("jobs.Note", "uid", "words", "by", "card_id")
    assert note == {"uid": sent["id"], "words": WORDS, "by": "Pip Tansley-Vole", "card_id": 1}
    [receipt] = home.rows("outbox.Receipt", "op_uid", "body_sha", "number")
    assert receipt == {"op_uid": sent["id"], "body_sha": sent["receipt"]["body_sha"], "number": 1}
    assert len(home.rows("history.Event", "seq", kind="jobs.noted")) == 1


def test_with_signal_it_is_safe_at_once(home: Home, line: Line, page: Page) -> None:
    write(page, WORDS)
    on_card(page, "safe in the office")
    assert len(line.operations()) == 1
    expect(page.get_by_label("Note")).to_have_value("")
    assert [note["words"] for note in home.rows("jobs.Note", "words")] == [WORDS]


def test_once_the_sheet_itself_shows_it_it_stands_there_once(line: Line, page: Page) -> None:
    write(page, WORDS)
    on_card(page, "safe in the office")
    expect(page.locator("#sheet").get_by_text(WORDS)).to_have_count(1)
    until(page, lambda: WORDS in kept_text(page, CARD), "the kept card does not show the note")
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_have_text("Job card")
    expect(page.locator("#sheet p", has_text=WORDS).filter(has_not_text="wrote a note")).to_have_count(1)
    expect(page.locator("[data-row]")).to_have_count(0)


def test_the_answer_and_the_server_lost_together(home: Home, line: Line, phone: Phone, page: Page) -> None:
    """The server is killed right after it committed: the repeat gets the receipt that was kept."""
    line.drop = 1
    write(page, WORDS)
    until(page, lambda: line.dropped, "no answer was swallowed")
    home.kill()
    assert line.dropped == 1
    home.start()
    on_card(page, "safe in the office")
    assert len(home.rows("jobs.Note", "uid")) == 1
    assert len(line.operations()) >= 2


def test_a_sheet_that_is_not_kept_says_so(phone: Phone, line: Line, page: Page) -> None:
    phone.offline()
    page.goto(f"{line.url}/m/card/987/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Not on this phone")
    page.get_by_role("link", name="To the run sheet").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Run sheet")


def test_an_entry_that_cannot_be_done_holds_its_card_only(home: Home, line: Line, page: Page) -> None:
    page.evaluate("""() => Promise.all([hardstand.add("note", 987654321, {words: "no such card"}),
      hardstand.add("note", 987654321, {words: "behind it"}), hardstand.add("note", 1, {words: "on another card"})])""")
    on_card(page, "safe in the office")
    board = page.locator("#outbox")
    expect(board).to_contain_text("needs attention: The office has no such card.")
    expect(board.locator("li", has_text="behind it")).to_contain_text("on this phone")
    assert [(row["data"]["words"], row["state"]) for row in rows(page)] == [
        ("no such card", "attention"),
        ("behind it", "here"),
        ("on another card", "safe"),
    ]
    assert [note["words"] for note in home.rows("jobs.Note", "words")] == ["on another card"]


def test_two_tabs_send_each_entry_once(home: Home, line: Line, phone: Phone, page: Page) -> None:
    assert phone.context
    second = phone.context.new_page()
    second.goto(f"{line.url}{CARD}")
    phone.offline()
    for tab in (page, second):
        tab.evaluate("""async () => { for (let i = 0; i < 10; i++) await hardstand.add("note", 1, {words: `note ${i}`}); }""")
    phone.offline(False)
    expect(page.locator(".sent-link")).to_have_text("nothing waits here")
    assert len(line.operations()) == 20
    assert len(home.rows("jobs.Note", "uid")) == 20
    assert sorted(receipt["number"] for receipt in home.rows("outbox.Receipt", "number")) == list(range(1, 21))


def test_what_is_kept(page: Page, line: Line) -> None:
    found = kept(page)
    [pages] = [name for name in found if name.startswith("hardstand-pages-")]
    assert found[pages] == ["/m/", CARD]
    [shell] = [name for name in found if name.startswith("hardstand-shell-")]
    assert "/static/pages/base.css" in found[shell]
    assert "/m/offline/" in found[shell]
