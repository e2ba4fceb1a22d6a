"""One job from the call to the books, by hand on a phone of 360 px; the customer's part a second time without script."""

import io
import shutil
import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest
from playwright.sync_api import Browser, Page, Playwright, expect

from tests.browser.home import Home
from tests.browser.phone import ARGUMENTS, SMALL, Phone, signed_in, until

PICTURE = Path(__file__).resolve().parents[2] / "fixtures/pictures/pump-old.jpg"


def press(page: Page, name: str) -> None:
    """A button or a link that looks like one."""
    page.get_by_role("button", name=name, exact=True).or_(page.get_by_role("link", name=name, exact=True)).first.click()


def choose(page: Page, group: str, answer: str) -> None:
    """One of the boxes of a group."""
    page.get_by_role("group", name=group, exact=True).get_by_text(answer, exact=True).click()


def enquiry(page: Page, url: str) -> str:
    """The call. Returns the address of the card."""
    page.goto(f"{url}/m/new/")
    for label, value in {
        "Name": "Ilse Brackwater", "Telephone": "+999 555 010 123", "Make": "Ostrel", "Model": "Wander 28", "Plate": "VM 00 DEMO-7",
        "In the customer’s words": "Coolant on the drive every morning.", "Where it stands": "Gravel drive",
    }.items():  # fmt: skip
        page.get_by_label(label, exact=True).fill(value)
    press(page, "Open job card")
    expect(page.get_by_role("heading", name="Job card")).to_be_visible()
    return page.url


def look(page: Page, card: str) -> None:
    """Site check, then a finding with its photo."""
    page.goto(f"{card}site/")
    page.get_by_label("Ground").fill("gravel, level")
    page.get_by_text("Wheels chocked, brake on").click()
    choose(page, "Verdict", "work here")
    press(page, "Save site check")
    page.goto(f"{card}finding/")
    page.locator("input[name=camera]").set_input_files(PICTURE)
    page.get_by_role("textbox", name="Another place").fill("front of the engine")
    choose(page, "Condition", "act")
    page.get_by_label("What you see").fill("Coolant trail at the pump shaft")
    press(page, "Save finding")
    page.goto(card)
    expect(page.get_by_role("link", name="Coolant trail at the pump shaft")).to_be_visible()
    expect(page.get_by_text("1 photo")).to_be_visible()


def price(page: Page, card: str) -> None:
    """One opening, shared by two lines, and a line of only words and a price."""
    page.goto(f"{card}step/")
    page.get_by_label("What is opened").fill("Front cover off")
    page.get_by_label("Open, min").fill("35")
    page.get_by_label("Close, min").fill("40")
    page.get_by_label("Uses up").fill("gasket")
    page.get_by_label("Its price, net").fill("38,00")
    page.locator("form.sheet button.do").click()
    for words, minutes, part in (("Coolant pump", "36", "150.60"), ("Front crank seal", "30", "24.50")):
        page.goto(f"{card}line/")
        page.get_by_label("What is done").fill(words)
        page.get_by_label("Own minutes").fill(minutes)
        page.get_by_text("Front cover off").click()
        page.get_by_label("Part 1").fill(words.lower())
        page.get_by_label("Price of all, net").first.fill(part)
        press(page, "Save line")
    page.goto(f"{card}line/")
    page.get_by_label("What is done").fill("Call-out")
    choose(page, "Kind", "call-out and diagnosis")
    page.get_by_text("A fixed price instead").click()
    page.get_by_label("Fixed price, net").fill("137.63")
    press(page, "Save line")
    page.goto(card)
    # 75 min and gasket once, 36 + 30 min, parts, call-out: 97.50 + 38.00 + 46.80 + 39.00 + 175.10 + 137.63 = 534.03; with 22 % 651.52
    expect(page.locator(".sums .grand")).to_contain_text("651.52")
    expect(page.locator(".no.share")).to_have_text("1+2")


def torque(page: Page, card: str) -> None:
    """A value with its source, on the card's sheet."""
    page.goto(f"{card}joint/")
    page.get_by_text("Coolant pump", exact=False).first.click()
    page.get_by_label("Joint").fill("Pump bolts M8")
    page.get_by_label("How many bolts").fill("4")
    page.get_by_label("Torque").fill("24")
    choose(page, "Unit as printed", "N·m")
    page.get_by_text("maker, for this vehicle").click()
    page.get_by_label("Title").fill("Ostrel workshop manual, DEMO")
    page.get_by_label("Edition").fill("2021-06")
    page.locator("form.sheet button.do").click()
    page.goto(f"{card}tightening/")
    expect(page.get_by_text("Ostrel workshop manual, DEMO")).to_be_visible()
    page.get_by_label("Tool showed").fill("24")
    page.get_by_label("Tool number").fill("T2")
    press(page, "Tick joint 1")
    expect(page.get_by_text("Tool T2 showed 24")).to_be_visible()


def send(page: Page, home: Home, pk: str) -> str:
    """The version goes out. Returns the customer's address."""
    page.goto(f"{home.url}/cards/{pk}/quote/")
    page.get_by_role("button", name="Send version").click()
    address = page.get_by_label("The link, to copy").input_value()
    assert address.startswith(f"{home.url}/q/")
    return address


def answer(page: Page, address: str) -> None:
    """The owner accepts the pump and the call-out, not now the seal. Nothing is chosen beforehand."""
    assert page.goto(address).status == 200  # type: ignore[union-attr]
    assert page.locator("input[type=radio]:checked").count() == 0
    for number, said in ((1, "Accept"), (2, "Not now"), (3, "Accept")):
        page.locator(f"#line-{number}").get_by_text(said, exact=True).click()
    page.get_by_role("button", name="Add up").last.click()
    # Without the seal 63.50 net less: 470.53 net, 574.05 with tax.
    expect(page.locator("output.sum")).to_have_text("574.05")
    page.get_by_label("Your name").fill("Ilse Brackwater")
    page.get_by_text("the owner", exact=True).click()
    press(page, "Go over the order")
    page.get_by_role("button", name="Order this work, pay 574.05").click()
    expect(page.get_by_role("heading", name="Order received")).to_be_visible()


def work(page: Page, card: str) -> None:
    """What was accepted is done, then the vehicle is ready. The kept card shows first; the office's newer one comes behind it."""
    page.goto(card)
    until(page, lambda: page.goto(card) and page.get_by_role("link", name="Work", exact=True).count(), "the answer did not reach the card")
    for number in (1, 3):
        page.goto(f"{card}work-sheet/")
        for fold in page.get_by_text("Done, though never opened").all():
            fold.click()
        press(page, f"Line {number} is done")
    page.goto(card)
    press(page, "Mark ready")


def bill(page: Page, home: Home, pk: str) -> bytes:
    """Invoice, its paper, and the payment. Returns the paper's bytes."""
    page.goto(f"{home.url}/invoices/new/{pk}/")
    expect(page.locator(".sums .grand")).to_contain_text("574.05")
    press(page, "Issue invoice")
    expect(page.get_by_role("heading", name="Invoice", exact=False).first).to_be_visible()
    where = page.get_by_role("link", name="Open I").get_attribute("href")
    paper = page.request.get(f"{home.url}{where}").body()
    choose(page, "How", "bank transfer")
    press(page, "Take payment")
    expect(page.get_by_text("paid", exact=True).first).to_be_visible()
    return paper


def books(home: Home, folder: Path) -> None:
    """The batch is read by the outside programs; everything adds up; the backup proves itself."""
    home.manage("shell", "-v0", "-c", "from workshop.demo.build import accounts; accounts()")
    home.manage("export_books", "--from", "2020-01-01", "--to", "2100-01-01", "--out", str(folder))
    journal = next(folder.rglob("*.hledger"))
    beans = next(folder.rglob("*.beancount"))
    subprocess.run(["hledger", "-f", str(journal), "check", "-s"], check=True)
    subprocess.run([str(Path(sys.executable).parent / "bean-check"), str(beans)], check=True)
    assert "574.05" in journal.read_text()
    assert "All adds up" in home.manage("verify")
    assert "verified there" in home.manage("backup", str(folder / "backup.zip"))


@pytest.mark.both_databases
def test_the_walk(home: Home, phone: Phone, playwright: Playwright, tmp_path: Path) -> None:
    page = phone.open()
    signed_in(page, "ada", home.url)
    card = enquiry(page, home.url)
    pk = card.rstrip("/").rsplit("/", 1)[1]
    look(page, card)
    price(page, card)
    torque(page, card)
    address = send(page, home, pk)
    without_script(playwright, address)
    work(page, card)
    paper = bill(page, home, pk)
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        assert pdf.Root.MarkInfo.Marked
    books(home, tmp_path / "books")


def without_script(playwright: Playwright, address: str) -> None:
    """The owner's own phone, not signed in, with script switched off."""
    browser: Browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=ARGUMENTS)
    context = browser.new_context(viewport=SMALL, java_script_enabled=False)  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(20_000)
    answer(page, address)
    assert page.request.get(address).status == 200
    browser.close()


def test_the_customers_part_with_script(home: Home, phone: Phone, playwright: Playwright) -> None:
    """The total follows each choice from the server, without a press."""
    page = phone.open()
    signed_in(page, "ada", home.url)
    card = enquiry(page, home.url)
    price(page, card)
    address = send(page, home, card.rstrip("/").rsplit("/", 1)[1])
    page.goto(address)
    page.locator("#line-1").get_by_text("Accept", exact=True).click()
    # Pump alone: 97.50 + 38.00 + 46.80 + 150.60 = 332.90 net, 406.14 with tax.
    expect(page.locator("output.sum")).to_have_text("406.14")
    page.locator("#line-2").get_by_text("Accept", exact=True).click()
    expect(page.locator("output.sum")).to_have_text("483.61")
    page.locator("#line-2").get_by_text("Not now", exact=True).click()
    expect(page.locator("output.sum")).to_have_text("406.14")
