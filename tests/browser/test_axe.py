"""No page breaks a rule of axe-core (WCAG 2.2 A and AA, and its best practices) at 360 px, and none scrolls sideways at 320 px."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.browser.home import Home
from tests.browser.phone import Phone, signed_in
from tests.browser.test_the_walk import enquiry, look, price, send, torque

OWNERS = (
    "/?desk",
    "/m/",
    "/m/new/",
    "/search/?q=Brackwater",
    "/invoices/",
    "/books/",
    "/company/",
    "/company/rates/",
    "/company/people/",
    "/company/powers/",
)
CARDS = ("", "site/", "finding/", "line/", "step/", "joint/", "tightening/", "stop/", "complaint/", "intake/")


def broken(page: Page, address: str) -> list[str]:
    """What axe says about a page, and whether it scrolls sideways on the smallest phone."""
    answer = page.goto(address)
    assert answer
    assert answer.status == 200, address
    rules = Axe().run(page).response["violations"]
    found = [f"{address}: {rule['id']} {node['html'][:160]}" for rule in rules for node in rule["nodes"]]
    page.set_viewport_size({"width": 320, "height": 700})
    if (wide := page.evaluate("document.documentElement.scrollWidth")) > 320:
        found.append(f"{address} is {wide} px wide at 320")
    page.set_viewport_size({"width": 360, "height": 780})
    return found


def test_every_page_of_the_walk(home: Home, phone: Phone) -> None:
    page = phone.open()
    found = broken(page, f"{home.url}/accounts/login/")
    signed_in(page, "ada", home.url)
    card = enquiry(page, home.url)
    look(page, card)
    price(page, card)
    torque(page, card)
    pk = card.rstrip("/").rsplit("/", 1)[1]
    customer = send(page, home, pk)
    pages = [home.url + path for path in (*OWNERS, f"/cards/{pk}/quote/", f"/cards/{pk}/corrections/", f"/invoices/new/{pk}/")]
    for address in [*pages, *(card + path for path in CARDS), customer]:
        found += broken(page, address)
    assert found == []


def test_every_page_of_the_work(home: Home, phone: Phone) -> None:
    page = phone.open()
    signed_in(page, "ada", home.url)
    card = enquiry(page, home.url)
    price(page, card)
    pk = card.rstrip("/").rsplit("/", 1)[1]
    paths = home.manage("shell", "-v0", "-c", f"from tests.browser import stock; print(*stock.under_way({pk}))").split()
    found = [each for path in paths for each in broken(page, home.url + path)]
    home.manage("shell", "-v0", "-c", f"from tests.browser import stock; stock.leave({pk})")
    for path in ("", "work-sheet/", "leave/"):
        found += broken(page, card + path)
    assert found == []
