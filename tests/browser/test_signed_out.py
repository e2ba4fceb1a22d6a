"""The sign-in ended, or somebody else signed in: what waits stays, is named, and is sent for nobody else."""

from playwright.sync_api import Page, expect

from tests.browser.home import Home
from tests.browser.phone import Phone, kept, rows, signed_in, until, wait_until_kept
from tests.browser.proxy import Line

WORDS = "Gate code 4471, dog is friendly."
CARD = "/m/card/1/"
END_ALL_SESSIONS = "from django.contrib.sessions.models import Session; Session.objects.all().delete()"


def waiting_note(home: Home, line: Line, phone: Phone) -> Page:
    """Pip's note waits on the phone, and his sign-in has ended."""
    page = phone.open()
    signed_in(page, "pip", line.url)
    wait_until_kept(page, CARD)
    phone.offline()
    page.goto(f"{line.url}{CARD}")
    page.get_by_label("Note").fill(WORDS)
    page.get_by_role("button", name="Save note").click()
    expect(page.locator("[data-row]").first).to_contain_text("on this phone")
    home.manage("shell", "-v0", "-c", END_ALL_SESSIONS)
    return page


def test_signed_out(home: Home, line: Line, phone: Phone) -> None:
    page = waiting_note(home, line, phone)
    phone.offline(False)
    board = page.locator("#outbox")
    expect(board).to_contain_text("Saved here. Sign in to send.")
    assert line.operations() == []
    assert [row["state"] for row in rows(page)] == ["here"]

    board.get_by_role("link", name="Sign in").click()
    page.get_by_label("Name").fill("pip")
    page.get_by_label("Password").fill("a password for tests")
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(f"{line.url}{CARD}")
    expect(page.locator(".sent-link")).to_have_text("nothing waits here")
    assert [note["words"] for note in home.rows("jobs.Note", "words")] == [WORDS]
    assert len(line.operations()) == 1


def test_other_user(home: Home, line: Line, phone: Phone) -> None:
    page = waiting_note(home, line, phone)
    phone.offline(False)
    expect(page.locator("#outbox")).to_contain_text("Sign in to send.")
    pips = [name for name in kept(page) if name.startswith("hardstand-pages-")]

    signed_in(page, "ada", line.url)
    expect(page.locator("#outbox")).to_contain_text("1 of Pip Tansley-Vole on this phone. Not sent until Pip Tansley-Vole signs in here.")
    wait_until_kept(page, CARD)
    adas = [name for name in kept(page) if name.startswith("hardstand-pages-")]
    assert len(adas) == len(pips) == 1
    assert adas != pips
    page.goto(f"{line.url}{CARD}")
    expect(page.locator('meta[name="hardstand-user"]')).to_have_attribute("data-name", "Ada Quillfeather")
    page.get_by_label("Note").fill("From Ada.")
    page.get_by_role("button", name="Save note").click()
    expect(page.locator("[data-row]").first).to_contain_text("safe in the office")
    assert [(note["words"], note["by"]) for note in home.rows("jobs.Note", "words", "by")] == [("From Ada.", "Ada Quillfeather")]
    assert [row["state"] for row in rows(page)] == ["here", "safe"]
    assert len(line.operations()) == 1

    page.goto(f"{line.url}/accounts/logout/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(f"{line.url}/accounts/login/**")
    until(page, lambda: not any(name.startswith("hardstand-pages-") for name in kept(page)), "sheets were still kept")
    signed_in(page, "pip", line.url)
    expect(page.locator(".sent-link")).to_have_text("nothing waits here")
    assert sorted(note["by"] for note in home.rows("jobs.Note", "by")) == ["Ada Quillfeather", "Pip Tansley-Vole"]


def test_a_portal_that_answers_everything_is_not_a_receipt(home: Home, line: Line, phone: Phone) -> None:
    """A page with status 200 in place of the office: nothing counts as sent."""
    page = phone.open()
    signed_in(page, "pip", line.url)
    wait_until_kept(page, CARD)
    page.goto(f"{line.url}{CARD}")
    assert phone.context
    phone.context.route("**/m/session/", lambda route: route.fulfill(status=200, content_type="text/html", body="<h1>Free network</h1>"))
    page.get_by_label("Note").fill(WORDS)
    page.get_by_role("button", name="Save note").click()
    expect(page.locator("#outbox")).to_contain_text("Sign in to send.")
    assert [row["state"] for row in rows(page)] == ["here"]
    assert line.operations() == []
