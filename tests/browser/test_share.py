"""The share sheet of a phone (W3C Web Share API, "share() method"): its button is there only where the phone has one."""

from decimal import Decimal

from playwright.sync_api import expect

from tests import homes
from tests.browser.home import Home
from tests.browser.phone import Phone, signed_in

SHARES = "navigator.share = async (told) => { window.told = told }; navigator.canShare = () => true"
LACKS = "delete Navigator.prototype.share"


def offer() -> None:
    """A line on the card, sent. Run inside the place."""
    from workshop.history.actions import Actor
    from workshop.jobs import actions as jobs
    from workshop.jobs.models import Card
    from workshop.quotes import actions as quotes

    actor, card = Actor.system("Ada Quillfeather"), Card.objects.get()
    jobs.add_line(actor, card, kind="due", words="Drive belt", own_minutes=30, parts=[jobs.PartIn("belt", Decimal(40))], steps=[])
    quotes.send_version(actor, card, for_whom="Osgood Plumtree")


def test_a_phone_that_shares_hands_on_words_and_address(home: Home, phone: Phone) -> None:
    assert homes.script(home.surroundings, "from tests.browser.test_share import offer; offer()").wait() == 0
    (sent,) = home.rows("quotes.Version", "card_id")
    page = phone.open()
    page.add_init_script(LACKS)
    signed_in(page, "pip", home.url)
    page.goto(f"{home.url}/cards/{sent['card_id']}/quote/")
    button = page.get_by_role("button", name="Pass it on by this phone")
    expect(page.get_by_role("link", name="Write a message")).to_be_visible()
    expect(button).to_be_hidden()

    page.add_init_script(SHARES)
    page.reload()
    button.click()
    told = page.evaluate("window.told")
    assert set(told) == {"title", "text", "url"}
    assert told["url"].startswith(f"{home.url}/q/")
    assert told["text"].endswith("choose here:")
