"""A phone: Debian's Chromium with a profile that outlives the browser, as a phone's storage outlives a crash."""

import os
import shutil
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Playwright

from tests.browser import stock

ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync"]
SMALL = {"width": 360, "height": 780}
ROWS = """() => new Promise((done, fail) => {
  const ask = indexedDB.open("hardstand");
  ask.onerror = () => fail(ask.error);
  ask.onsuccess = () => {
    const stores = ["outbox", "bytes"], tx = ask.result.transaction(stores);
    const found = Object.fromEntries(stores.map((name) => [name, tx.objectStore(name).getAll()]));
    tx.oncomplete = () => { ask.result.close(); done(Object.fromEntries(stores.map((name) => [name, found[name].result]))); };
  };
})"""
KEPT = """async () => {
  const kept = {};
  for (const name of await caches.keys()) kept[name] = (await (await caches.open(name)).keys()).map((each) => new URL(each.url).pathname);
  return kept;
}"""


class Phone:
    """One profile. `complaints` gathers what the browser says about the content security policy and faults of our script."""

    def __init__(self, playwright: Playwright, profile: Path) -> None:
        self.playwright, self.profile = playwright, profile
        self.context: BrowserContext | None = None
        self.complaints: list[str] = []
        self.cookies: list[Any] = []

    def open(self, *, offline: bool = False, touch: bool = False) -> Page:
        """Starts the browser on the profile and returns its page; with touch it is tapped, not clicked."""
        self.context = self.playwright.chromium.launch_persistent_context(
            self.profile,
            executable_path=shutil.which("chromium"),
            args=ARGUMENTS,
            viewport=SMALL,
            offline=offline,
            service_workers="allow",
            has_touch=touch,
        )
        self.context.add_cookies(self.cookies)
        self.context.on("page", self._listen)
        page = self.context.pages[0]
        self._listen(page)
        page.set_default_timeout(20_000)
        return page

    def offline(self, off: bool = True) -> None:
        """No signal, or signal again."""
        assert self.context
        self.context.set_offline(off)

    def kill(self) -> int:
        """SIGKILL to every process of this browser. How many there were.

        Chromium writes its cookies to disk up to 30 s late. Who signed in this morning has them there, so they are given back at `open`.
        """
        assert self.context
        self.cookies = self.context.cookies()
        victims = self._processes()
        for pid in victims:
            os.kill(pid, signal.SIGKILL)
        self.context = None
        return len(victims)

    def close(self) -> None:
        """Ends the browser in order."""
        if self.context:
            self.context.close()
            self.context = None

    def _listen(self, page: Page) -> None:
        page.on("console", self._hear)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _hear(self, message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            self.complaints.append(message.text)

    def _processes(self) -> list[int]:
        """The browser with this profile and everything it started."""
        parents: dict[int, int] = {}
        roots = []
        for folder in Path("/proc").glob("[0-9]*"):
            try:
                words = (folder / "cmdline").read_bytes().split(b"\0")
                parents[int(folder.name)] = int((folder / "stat").read_text().rpartition(")")[2].split()[1])
            except OSError:
                continue
            if f"--user-data-dir={self.profile}".encode() in words:
                roots.append(int(folder.name))
        found = set(roots)
        while more := {pid for pid, parent in parents.items() if parent in found} - found:
            found |= more
        return sorted(found)


def signed_in(page: Page, name: str, url: str, then: str = "/m/") -> None:
    """Signs in by the form and lands on a page."""
    page.goto(f"{url}/accounts/login/?next={then}")
    page.get_by_label("Name").fill(name)
    page.get_by_label("Password").fill(stock.PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.wait_for_url(f"{url}{then}")


def rows(page: Page) -> list[dict[str, Any]]:
    """What the outbox on the phone holds, in order."""
    found: list[dict[str, Any]] = page.evaluate(ROWS)["outbox"]
    return found


def kept(page: Page) -> dict[str, list[str]]:
    """Cache to the paths in it."""
    found: dict[str, list[str]] = page.evaluate(KEPT)
    return found


def until(page: Page, check: Callable[[], object], what: str) -> None:
    """Looks again and again for 20 s. (The browser's own waiting takes a promise for a yes.)"""
    for _ in range(200):
        if check():
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"20 s went by: {what}.")


def wait_until_kept(page: Page, path: str) -> None:
    """Until the worker has kept a page."""
    until(page, lambda: any(path in paths for paths in kept(page).values()), f"{path} was not kept")


def kept_text(page: Page, path: str) -> str:
    """What the phone keeps of a page, nothing when it is not kept."""
    found: str = page.evaluate("async (path) => { const kept = await caches.match(path); return kept ? kept.text() : ''; }", path)
    return found
