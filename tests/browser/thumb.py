"""A thumb on a phone: it taps what is seen and large enough, and counts what a hand does."""

from pathlib import Path

from playwright.sync_api import Locator, Page, expect

from tests.browser.phone import SMALL

LEAST = 44  # CSS px: WCAG 2.2, success criterion 2.5.5 (enhanced)
# What can be tapped and is seen. A link within a sentence is not counted: 2.5.5 leaves it out.
TAPPED = "button, .btn, summary, label.opt, label.field, .linkish, h2 a, h3 a"
SMALL_ONES = """([tapped, least]) => [...document.querySelector("main").querySelectorAll(tapped)]
  .filter((each) => each.checkVisibility({visibilityProperty: true}) && !each.closest(".hide"))
  .map((each) => [each.textContent.trim().slice(0, 40), Math.round(each.getBoundingClientRect().height)])
  .filter(([words, high]) => high > 0 && high < least)
  .map(([words, high]) => `${words} is ${high} px high`)"""


class Thumb:
    """Taps and types on a page. `taps` and `typed` count what the hand did, `pages` what was waited for."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = self.typed = self.pages = 0

    def at(self, url: str) -> None:
        """Starts on a page; the address was opened by an icon or a message."""
        answer = self.page.goto(url)
        assert answer
        assert answer.status == 200, url
        self.look()

    def look(self) -> None:
        """The page is no wider than the phone, and all that can be tapped on it is large enough."""
        self.pages += 1
        self.page.wait_for_load_state()
        wide = self.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= SMALL["width"], f"{self.page.url} is {wide} px wide"
        small = self.page.evaluate(SMALL_ONES, [TAPPED, LEAST])
        assert small == [], f"{self.page.url}: {small}"

    def touch(self, target: Locator) -> None:
        """One tap. The target is seen and at least 44 px either way."""
        expect(target).to_be_visible()
        box = target.bounding_box()
        assert box
        assert round(box["height"]) >= LEAST, f"{target.inner_text()[:40]!r} is {box['height']:.0f} px high"
        assert round(box["width"]) >= LEAST, f"{target.inner_text()[:40]!r} is {box['width']:.0f} px wide"
        target.tap()
        self.taps += 1

    def tap(self, name: str) -> None:
        """A button, or a link that looks like one; the page that it leads to is looked at."""
        page = self.page
        named = page.get_by_role("button", name=name, exact=True).or_(page.get_by_role("link", name=name, exact=True))
        with page.expect_navigation(wait_until="load"):
            self.touch(named.filter(visible=True).first)
        self.look()

    def pick(self, answer: str, *, of: str = "") -> None:
        """One box to tick, of a group when it is named."""
        where: Page | Locator = self.page.get_by_role("group", name=of, exact=True) if of else self.page
        box = where.locator("label.opt").filter(has_text=answer).filter(visible=True).first
        self.touch(box)
        expect(box.locator("input")).to_be_checked()

    def unfold(self, name: str) -> None:
        """A fold of the sheet."""
        self.touch(self.page.locator("summary").filter(has_text=name).first)

    def type(self, label: str, words: str) -> None:
        """A tap into a field, then letter by letter."""
        field = self.page.get_by_label(label, exact=True).filter(visible=True).first
        self.touch(self.page.locator("label.field").filter(has=field).first)
        field.fill(words)
        self.typed += len(words)

    def photograph(self, picture: Path) -> None:
        """Take photo: one tap on the sheet, one on the camera's shutter."""
        box = self.page.locator("label.field").filter(has_text="Take photo").first
        with self.page.expect_file_chooser() as camera:
            self.touch(box)
        camera.value.set_files(picture)
        self.taps += 1

    def minutes(self) -> float:
        """Minutes by a plain model, common practice and no source: 1.5 s a tap, 0.4 s a character, 1 s a page."""
        return (1.5 * self.taps + 0.4 * self.typed + self.pages) / 60
