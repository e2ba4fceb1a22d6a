"""A passkey from start to end, with the browser's own virtual authenticator (W3C WebAuthn, section 11, "User Agent Automation")."""

from playwright.sync_api import expect

from tests.browser import stock
from tests.browser.home import Home
from tests.browser.phone import Phone, signed_in

KEY = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
    "automaticPresenceSimulation": True,
}


def test_a_passkey_is_added_and_opens_without_the_password(home: Home, phone: Phone) -> None:
    url = home.url.replace("127.0.0.1", "localhost")  # a passkey belongs to a name, never to a number
    page = phone.open()
    chromium = page.context.new_cdp_session(page)
    chromium.send("WebAuthn.enable")
    chromium.send("WebAuthn.addVirtualAuthenticator", {"options": KEY})
    signed_in(page, "pip", url)
    page.goto(f"{url}/accounts/2fa/webauthn/add/")
    if "reauthenticate" in page.url:
        page.get_by_label("Password").fill(stock.PASSWORD)
        page.get_by_role("button", name="Go on").click()
    page.get_by_label("Name of this key").fill("This phone")
    page.get_by_label("Opens without the password").check()
    page.get_by_role("button", name="Add passkey").click()
    page.wait_for_url(lambda where: "/add/" not in where)
    assert [row["type"] for row in home.rows("mfa.Authenticator", "type", type="webauthn")] == ["webauthn"]

    page.goto(f"{url}/accounts/logout/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/accounts/login/**")
    page.goto(f"{url}/accounts/login/?next=/m/")
    page.get_by_role("button", name="Sign in with a passkey").click()
    page.wait_for_url(lambda where: "/accounts/" not in where)
    expect(page.locator('meta[name="hardstand-user"]')).to_have_attribute("data-name", "Pip Tansley-Vole")
